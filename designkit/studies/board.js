// The working plan: a drafted sheet whose pieces are moved by hand. A piece moves
// here in the same frame; Python is asked what follows and answers with what changed.
// Text is set as text; the only markup taken is the SVG of designkit's own renderer.

const NS = "http://www.w3.org/2000/svg";
const ZOOMS = [1, 1.5, 2, 3];
const REST = 600;          // ms without a key before a piece is put down
const SILENT = 8000;       // ms without an answer before the page says so
const SNAP_PX = 9;         // so near, on the screen, a dragged piece snaps
const HANDLE = 7;          // mm on paper from the front of a piece to its handle

function make(tag, cls, text) {
  const el = document.createElement(tag);
  if (cls) el.className = cls;
  if (text !== undefined) el.textContent = text;
  return el;
}

function draw(tag, attributes = {}, parent) {
  const el = document.createElementNS(NS, tag);
  for (const [k, v] of Object.entries(attributes)) el.setAttribute(k, v);
  if (parent) parent.append(el);
  return el;
}

const turnOf = (degrees) => [Math.cos(degrees * Math.PI / 180), Math.sin(degrees * Math.PI / 180)];
const rotated = ([x, y], degrees) => {
  const [c, s] = turnOf(degrees);
  return [x * c - y * s, x * s + y * c];
};
const within = (degrees) => ((degrees % 360) + 360) % 360;
const written = new WeakMap();
function put(el, svg) {
  if (written.get(el) === svg) return;
  el.innerHTML = svg;
  written.set(el, svg);
}

// The same words again would make the browser lay the page out anew.
const write = (el, text) => { if (el.textContent !== text) el.textContent = text; };

let serial = 0;

function render({ model, el }) {
  const uid = `dkb${++serial}`;
  const root = el.appendChild(make("div", "dk-page dk-board"));
  root.setAttribute("lang", "en");
  root.append(make("style", "", model.get("font_css")));
  const part = {};
  const add = (name, tag, cls, parent = root) => (part[name] = parent.appendChild(make(tag, cls)));
  add("where", "p", "dk-where");
  add("question", "h1", "dk-question");
  add("answer", "p", "dk-answer");
  add("brief", "ul", "dk-brief");
  add("paper", "div", "dk-paper dk-sheet");
  add("line", "p", "dk-line");
  add("tapes", "ul", "dk-tapes").setAttribute("aria-label", "Measures");
  add("picking", "p", "dk-picking-words").setAttribute("role", "status");
  add("hint", "p", "dk-keys");
  add("error", "p", "dk-error").setAttribute("role", "alert");
  add("controls", "div", "dk-controls");
  add("findings", "section", "dk-findings");
  add("tables", "div", "dk-tables");
  const work = add("working", "details", "dk-working");
  work.append(make("summary", "", "How is this worked out?"));
  add("workingRows", "div", "", work);
  add("actions", "div", "dk-actions");
  add("kept", "p", "dk-note dk-kept");
  add("note", "p", "dk-note");
  add("spoken", "p", "dk-spoken").setAttribute("aria-live", "polite");
  part.hint.id = `${uid}-keys`;

  // ---- asking ---------------------------------------------------------------
  // One question is under way at a time; what is asked meanwhile goes with the next,
  // and of the places of a dragged piece only the last. The next goes out when all of
  // the answer is here: one that waits in the kernel would be about an older place.
  let steps = [], asked = 0, silence = 0;
  let number = model.get("answered") ?? 0;
  function ask(step) {
    number = Math.max(number, model.get("answered") ?? 0) + 1;
    const last = steps.at(-1);
    if (step.do === "move" && last?.do === "move" && last.id === step.id && last.n > asked) steps.pop();
    steps.push({ ...step, n: number });
    root.dataset.waits = steps.filter((s) => s.do !== "look").length;
    root.dispatchEvent(new CustomEvent("dk-asked", { bubbles: true, detail: steps.at(-1) }));
    flush();
  }
  function flush() {
    if (asked || !steps.length) return;
    asked = steps.at(-1).n;
    clearTimeout(silence);
    silence = setTimeout(lost, steps.some((s) => s.do === "propose") ? 60000 : SILENT);
    try {
      model.send({ n: asked, steps });
    } catch {
      lost();  // the kernel is gone
    }
  }
  // Whether a piece has been moved again since the step that was answered.
  const waits = (id, answered) => steps.some((s) => s.n > answered && s.do === "move" && s.id === id);
  function lost() {
    if (!steps.length || !root.isConnected) return;
    part.error.textContent = "The notebook does not answer. Choose Run All Cells once more: " +
      "what was kept is in the project's files.";
  }
  model.on("change:answered", () => {
    const answered = model.get("answered");
    steps = steps.filter((s) => s.n > answered);
    if (answered >= asked) {
      asked = 0;
      clearTimeout(silence);
      flush();
    }
    root.dataset.waits = steps.filter((s) => s.do !== "look").length;
    root.dataset.answered = answered;
  });
  model.on("comm_live_update", () => setTimeout(() => {
    if (root.closest(".jupyter-widgets-disconnected")) { steps = [{ n: 0 }]; lost(); steps = []; }
  }, 50));

  // ---- the sheet --------------------------------------------------------------
  const svg = draw("svg", { class: "dk-plan", "stroke-miterlimit": 8, fill: "none" }, part.paper);
  part.paper.setAttribute("role", "application");
  part.paper.setAttribute("aria-roledescription", "plan");
  part.paper.setAttribute("aria-describedby", part.hint.id);
  part.paper.dataset.lmSuppressShortcuts = "true";  // keys on the sheet are the sheet's
  const layer = {};
  // What is chosen and pointed at lies under all words; only hits and handle take the pointer.
  for (const name of ["ground", "elsewhere", "things", "zones", "chosen", "hits", "ways", "marks",
    "names", "room", "gaps", "tapes", "lines", "handle"]) {
    layer[name] = draw("g", { class: `dk-layer-${name}` }, svg);
    if (name !== "hits") layer[name].setAttribute("aria-hidden", "true");
  }
  const stem = draw("path", { class: "dk-stem" }, layer.handle);
  const knob = draw("circle", { r: 1.5, class: "dk-knob" }, layer.handle);
  const grip = draw("circle", { r: 6, class: "dk-grip" }, layer.handle);

  const things = new Map();
  let ground = model.get("ground");
  let values = {};
  let chosen = "";

  const onPaper = ([x, y]) => [
    ground.origin[0] + x * ground.scale,
    ground.size[1] - ground.origin[1] - y * ground.scale,
  ];
  const onPlan = ([x, y]) => [
    (x - ground.origin[0]) / ground.scale,
    (ground.size[1] - ground.origin[1] - y) / ground.scale,
  ];
  // Asked for once a view: it makes the browser lay the page out.
  let seen = null;
  const view = () => (seen ??= svg.getScreenCTM());
  const forget = () => { seen = null; };
  addEventListener("resize", forget);
  document.addEventListener("scroll", forget, true);
  const under = (e) => {
    const at = new DOMPoint(e.clientX, e.clientY).matrixTransform(view().inverse());
    return [at.x, at.y];
  };
  const pathOf = (points) => `M${points.map((p) => p.map((v) => v.toFixed(2)).join(" ")).join("L")}Z`;

  function shift(thing) {
    const [bx, by] = onPaper(thing.base), [px, py] = onPaper(thing.pose);
    const turn = thing.base[2] - thing.pose[2];
    const still = thing.base.every((v, i) => Math.abs(v - thing.pose[i]) < 1e-9);
    const all = `translate(${px} ${py}) rotate(${turn}) translate(${-bx} ${-by})`;
    for (const g of [thing.body, thing.floor]) {
      if (still) g.removeAttribute("transform"); else g.setAttribute("transform", all);
    }
    thing.words.setAttribute("transform", still ? "" : `translate(${px - bx} ${py - by})`);
    if (thing.hit) {
      thing.hit.setAttribute("transform", `translate(${px} ${py}) rotate(${-thing.pose[2]})`);
    }
  }

  // A piece with all that stands on it or at it moves as one body.
  function setPose(id, pose) {
    const thing = things.get(id), was = thing.pose;
    thing.pose = pose;
    shift(thing);
    for (const rider of things.values()) {
      if (rider.of !== id || rider.id === id) continue;
      if (!rider.can) { rider.pose = pose; shift(rider); continue; }
      const [dx, dy] = rotated([rider.pose[0] - was[0], rider.pose[1] - was[1]], pose[2] - was[2]);
      setPose(rider.id, [pose[0] + dx, pose[1] + dy, within(rider.pose[2] + pose[2] - was[2])]);
    }
    if (id === chosen) moveChosen();
  }

  const corners = (thing, pose = thing.pose) => thing.shape.map((p) => {
    const [x, y] = rotated(p, pose[2]);
    return [pose[0] + x, pose[1] + y];
  });

  // The chosen piece has a heavier outline and a handle; both are drawn once and then moved.
  function showChosen() {
    const thing = things.get(chosen);
    layer.handle.style.display = thing && !thing.locked ? "" : "none";
    layer.chosen.replaceChildren();
    for (const t of things.values()) t.hit?.setAttribute("aria-pressed", t.id === chosen);
    if (!thing) return;
    draw("path", { d: thing.hit.firstChild.getAttribute("d"), class: "dk-chosen" }, layer.chosen);
    moveChosen();
  }
  function moveChosen() {
    const thing = things.get(chosen), front = thing.front * ground.scale;
    const [ux, uy] = rotated([0, -1], thing.pose[2]), [x, y] = onPaper(thing.pose);
    // Ahead of the piece, or amid it where that is off the paper.
    const far = front + HANDLE, hx = x + ux * far, hy = y - uy * far;
    const inside = hx > 3 && hy > 3 && hx < ground.size[0] - 3 && hy < ground.size[1] - 3;
    const at = inside ? far : front - 4;
    stem.setAttribute("d", `M0 ${front}L0 ${at}`);
    for (const c of [knob, grip]) c.setAttribute("cy", at);
    for (const g of [layer.chosen, layer.handle]) {
      g.setAttribute("transform", thing.hit.getAttribute("transform"));
    }
  }

  // Drawn order is not reading order: what is focused and pointed at lies in its own layer.
  function drawThings() {
    const sheet = model.get("sheet");
    const now = new Set(sheet.things.map((t) => t.id));
    for (const [id, t] of things) {
      if (now.has(id)) continue;
      for (const g of [t.body, t.floor, t.words, t.hit]) g?.remove();
      things.delete(id);
    }
    sheet.things.forEach((given, rank) => {
      let t = things.get(given.id);
      const held = t && (drag?.id === given.id || waits(given.id, sheet.n) || waits(given.of, sheet.n));
      if (!t) {
        t = { body: draw("g"), floor: draw("g"), words: draw("g") };
        things.set(given.id, t);
      }
      const pose = held ? t.pose : given.pose;
      Object.assign(t, given, { base: given.pose, pose, rank });
      put(t.body, given.svg);
      put(t.floor, given.zone);
      put(t.words, sheet.names[given.id] ?? "");
      if (given.can && !t.hit) {
        t.hit = draw("g", { class: "dk-hit", role: "button", tabindex: "0" }, layer.hits);
        t.hit.dataset.thing = given.id;
        t.hit.setAttribute("aria-roledescription", "piece");
        draw("path", {}, t.hit);
      }
      if (t.hit) {
        const s = ground.scale;
        t.hit.firstChild.setAttribute("d", pathOf(given.shape.map(([x, y]) => [x * s, -y * s])));
        t.hit.setAttribute("aria-label", given.label);
        t.hit.classList.toggle("dk-locked", given.locked);
      }
    });
    const painted = sheet.things.map((t) => things.get(t.id));
    for (const [into, key] of [["things", "body"], ["zones", "floor"], ["names", "words"]]) {
      if (painted.some((t, i) => layer[into].children[i] !== t[key])) {
        layer[into].replaceChildren(...painted.map((t) => t[key]));
      }
    }
    const hits = sheet.order.map((id) => things.get(id)?.hit).filter(Boolean);
    if (hits.some((h, i) => layer.hits.children[i] !== h)) {
      const focused = document.activeElement;
      layer.hits.replaceChildren(...hits);
      if (hits.includes(focused)) focused.focus({ preventScroll: true });
    }
    put(layer.room, sheet.names[""] ?? "");
    for (const name of ["marks", "ways", "gaps", "tapes", "elsewhere"]) put(layer[name], sheet[name] ?? "");
    taped(sheet.taped);
    chosen = sheet.piece;
    painted.forEach(shift);
    showChosen();
    sayLine(sheet.line);
    painted_("sheet", sheet.n);
  }

  // Bench and tests read which answer is painted.
  function painted_(what, n) {
    root.dataset.drawn = n;
    root.dispatchEvent(new CustomEvent("dk-drawn", { bubbles: true, detail: { what, n } }));
  }

  function drawGround() {
    ground = model.get("ground");
    put(layer.ground, ground.svg);
    part.paper.setAttribute("aria-label", ground.label);
    part.hint.textContent = ground.keys;
    zoomTo(zoom);
  }

  function drawLive() {
    const live = model.get("live");
    if (!live.n) return;
    for (const [id, pose] of Object.entries(live.poses ?? {})) {
      const t = things.get(id);
      if (!t || drag?.id === id || (drag && t.of === drag.id)) continue;
      if (waits(id, live.n) || waits(t.of, live.n)) continue;
      if (t.pose.some((v, i) => Math.abs(v - pose[i]) > 1e-6)) setPose(id, pose);
    }
    if (live.marks !== undefined) put(layer.marks, live.marks);
    if (live.findings) findings({ ...model.get("said").findings, rows: live.findings });
    if (live.answer) { write(part.answer, live.answer); brief(live.brief); }
    painted_("live", live.n);
  }

  function drawWays() {
    const ways = model.get("ways");
    if (!ways.n) return;
    put(layer.ways, ways.svg);
    put(layer.gaps, ways.gaps);
    put(layer.tapes, ways.tapes);
    taped(ways.taped);
    sayLine(ways.line);
    fill(ways.fields);
    painted_("ways", ways.n);
  }

  function sayLine(line) {
    if (!fresh("line", [line, snapWords])) return;
    part.line.replaceChildren();
    if (!line?.name) return;
    part.line.append(make("strong", "", line.name), ` ${line.text}`);
    if (snapWords) part.line.append(make("span", "dk-inline", ` ${snapWords}`));
  }

  function taped(rows) {
    const keys = rows.map((row) => String(row.k)).join(" ");
    if (part.tapes.dataset.keys !== keys) {
      part.tapes.dataset.keys = keys;
      part.tapes.hidden = !rows.length;
      part.tapes.replaceChildren(...rows.map((row) => {
        const li = make("li", "dk-tape");
        li.append(make("span", "", row.text));
        const b = li.appendChild(make("button", "dk-act", "Take away"));
        b.type = "button";
        b.addEventListener("click", () => {
          ask({ do: "untape", k: row.k });
          part.controls.querySelector("[data-action=tape]")?.focus({ preventScroll: true });
        });
        return li;
      }));
    }
    rows.forEach((row, i) => {
      const [words, away] = part.tapes.children[i].children;
      write(words, row.text);
      away.setAttribute("aria-label", `Take away: ${row.text}`);
    });
  }

  // ---- zoom -------------------------------------------------------------------
  let zoom = 1, middle = null;
  function zoomTo(z, about) {
    const [w, h] = ground.size;
    const before = zoom;
    zoom = Math.min(4, Math.max(1, z));
    middle ??= [w / 2, h / 2];
    if (about) middle = about.map((v, i) => v + (middle[i] - v) * before / zoom);
    const vw = w / zoom, vh = h / zoom;
    middle = [Math.min(Math.max(middle[0], vw / 2), w - vw / 2),
      Math.min(Math.max(middle[1], vh / 2), h - vh / 2)];
    svg.setAttribute("viewBox", `${middle[0] - vw / 2} ${middle[1] - vh / 2} ${vw} ${vh}`);
    forget();
    svg.style.touchAction = zoom > 1 ? "none" : "pan-y";
    root.dataset.zoom = zoom;
    showValues();
  }
  function bringIntoView(id) {
    if (zoom === 1) return;
    const [w, h] = ground.size, at = onPaper(things.get(id).pose);
    if (Math.abs(at[0] - middle[0]) > w / zoom / 2 - 8 || Math.abs(at[1] - middle[1]) > h / zoom / 2 - 8) {
      middle = at;
      zoomTo(zoom);
    }
  }
  const aboutChosen = () => (things.has(chosen) ? onPaper(things.get(chosen).pose) : undefined);

  // ---- choosing, moving ---------------------------------------------------------
  let snapWords = "", resting = 0;
  function choose(id) {
    if (id === chosen || !things.get(id)?.can) return;
    chosen = id;
    showChosen();
    ask({ do: "piece", id });
  }
  function move(id, pose) {
    setPose(id, pose);
    const [x, y, turn] = pose;
    ask({ do: "move", id, x, y, turn });
  }
  function rest(id) {
    clearTimeout(resting);
    resting = 0;
    ask({ do: "rest", id });
  }
  function mayMove(id) {
    if (!things.get(id).locked) return true;
    const name = things.get(id).name;
    part.error.textContent = `${name[0].toUpperCase()}${name.slice(1)} is locked. Press Unlock first.`;
    return false;
  }

  function snapped(id, pose) {
    const thing = things.get(id), px = view().a * ground.scale;
    const near = Math.min(0.15, SNAP_PX / px);
    const held = [], drawn = [], said = [];
    let at = [...pose];
    if (values.snap?.includes("walls")) {
      for (let round = 0; round < 2; round++) {
        let best = null;
        const body = corners(thing, at);
        for (const [ax, ay, bx, by, nx, ny] of ground.walls) {
          if (held.some(([hx, hy]) => Math.abs(hx * nx + hy * ny) > 0.2)) continue;
          if ((at[0] - ax) * nx + (at[1] - ay) * ny <= 0) continue;
          const long = Math.hypot(bx - ax, by - ay), tx = (bx - ax) / long, ty = (by - ay) / long;
          const along = body.map(([x, y]) => (x - ax) * tx + (y - ay) * ty);
          if (Math.max(...along) < 0.02 || Math.min(...along) > long - 0.02) continue;
          const gap = Math.min(...body.map(([x, y]) => (x - ax) * nx + (y - ay) * ny));
          if (Math.abs(gap) <= near && (!best || Math.abs(gap) < Math.abs(best.gap))) {
            best = { gap, n: [nx, ny] };
          }
        }
        if (!best) break;
        held.push(best.n);
        at = [at[0] - best.gap * best.n[0], at[1] - best.gap * best.n[1], at[2]];
      }
    }
    const skew = held.some(([x, y]) => Math.abs(x * y) > 1e-9);
    for (const axis of [0, 1]) {
      if (skew || held.some((n) => Math.abs(n[axis]) > 0.2)) continue;
      const found = values.snap?.includes("lines") ? inLine(thing, at, axis, near * 0.7) : null;
      if (found) {
        at[axis] += found.by;
        drawn.push(found);
        said.push(found.name);
      } else {
        at[axis] = Math.round(at[axis] / ground.round) * ground.round;
      }
    }
    return { pose: at, lines: drawn, words: said.length ? `In line with ${said.join(" and ")}.` : "" };
  }

  // The nearest line along one axis that sides or middles of other pieces make.
  function inLine(thing, pose, axis, near) {
    const span = (points) => [0, 1].map((k) => {
      const v = points.map((p) => p[k]);
      return [Math.min(...v), Math.max(...v)];
    });
    // A piece that is turned askew has no side along the lines of the room.
    const hasSides = (t, turn) => t.shape.length > 8 || Math.abs(turn / 90 - Math.round(turn / 90)) < 1e-4;
    const mine = span(corners(thing, pose)), straight = hasSides(thing, pose[2]);
    let best = null;
    const take = (own, other, reach, name) => {
      const by = other - own;
      if (Math.abs(by) > near || (best && Math.abs(by) >= Math.abs(best.by) - 1e-6)) return;
      best = { by, at: other, axis, reach, name };
    };
    for (const other of things.values()) {
      if (!other.can || other.id === thing.id || other.of === thing.id || thing.of === other.id) continue;
      const theirs = span(corners(other));
      const reach = [Math.min(mine[1 - axis][0], theirs[1 - axis][0]),
        Math.max(mine[1 - axis][1], theirs[1 - axis][1])];
      take(pose[axis], other.pose[axis], reach, `the middle of the ${other.name}`);
      if (!straight || !hasSides(other, other.pose[2])) continue;
      for (const own of mine[axis]) {
        for (const side of theirs[axis]) take(own, side, reach, `a side of the ${other.name}`);
      }
    }
    for (const [x, y, nx, ny, name] of ground.middles) {
      if (Math.abs([nx, ny][axis]) > 1e-6) continue;
      const there = [x, y], across = there[1 - axis];
      const reach = [Math.min(mine[1 - axis][0], across), Math.max(mine[1 - axis][1], across)];
      take(pose[axis], there[axis], reach, `the middle of the ${name}`);
    }
    return best;
  }

  function showLines(lines) {
    if (!lines.length && !layer.lines.firstChild) return;
    layer.lines.replaceChildren();
    for (const { axis, at, reach } of lines) {
      const ends = reach.map((v) => onPaper(axis === 0 ? [at, v] : [v, at]));
      draw("path", { d: `M${ends[0].join(" ")}L${ends[1].join(" ")}`, class: "dk-align" }, layer.lines);
    }
  }

  // ---- the tape ------------------------------------------------------------------
  // Two things, one after the other: by the mouse or a finger, or Tab and Enter.
  let picking = null;
  function pick(end, name) {
    const first = picking;
    if (!end) {
      picking = picking ? null : { end: "" };
      if (picking) things.get(chosen)?.hit.focus({ preventScroll: true });
    } else if (!first.end) {
      picking = { end, name };
    } else {
      picking = null;
      ask({ do: "tape", a: first.end, b: end });
    }
    root.classList.toggle("dk-picking", !!picking);
    root.querySelector("[data-action=point]")?.setAttribute("aria-pressed", !!picking);
    part.picking.textContent = !picking ? "" : !picking.end
      ? "Measure from: click a piece, an opening, a wall or the floor, or go to a piece with Tab and press Enter. Escape stops."
      : `Measure from ${picking.name} to: click the other thing, or go to a piece with Tab and press Enter.`;
  }
  function endAt(e) {
    const thing = thingAt(e);
    if (thing) return [`piece:${thing.id}`, `the ${thing.name}`];
    const [x, y] = onPlan(under(e)), near = SNAP_PX / (view().a * ground.scale);
    for (const [end, name, ax, ay, bx, by] of ground.ends) {
      const long = Math.hypot(bx - ax, by - ay) || 1, tx = (bx - ax) / long, ty = (by - ay) / long;
      const along = Math.min(long, Math.max(0, (x - ax) * tx + (y - ay) * ty));
      if (Math.hypot(x - ax - along * tx, y - ay - along * ty) <= near) {
        return [end, name.startsWith("the ") ? name : `the ${name}`];
      }
    }
    const at = [x, y].map((v) => Number((Math.round(v / ground.round) * ground.round).toFixed(6)));
    return [`point:${at.join(",")}`, "this point"];
  }

  // ---- pointers -------------------------------------------------------------------
  let drag = null, pinch = null, panning = null;
  const fingers = new Map();
  function thingAt(e) {
    const found = document.elementsFromPoint(e.clientX, e.clientY)
      .map((n) => things.get(n.closest?.(".dk-hit")?.dataset.thing)).filter(Boolean);
    return found.sort((a, b) => b.rank - a.rank)[0];
  }
  function letGo(back) {
    const was = drag;
    drag = null;
    snapWords = "";
    showLines([]);
    root.classList.remove("dk-dragging");
    if (!was?.moved) return;
    if (back) move(was.id, was.from);
    rest(was.id);
  }
  svg.addEventListener("pointerdown", (e) => {
    if (e.button !== 0) return;
    forget();
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
    if (fingers.size === 2) {
      letGo(true);
      panning = null;
      const [a, b] = [...fingers.values()];
      pinch = { far: Math.hypot(a[0] - b[0], a[1] - b[1]), zoom };
      return;
    }
    if (picking) {
      e.preventDefault();
      pick(...endAt(e));
      return;
    }
    const turning = e.target === grip;
    const thing = turning ? things.get(chosen) : thingAt(e);
    svg.setPointerCapture(e.pointerId);
    if (!thing) {
      if (zoom > 1) panning = [e.clientX, e.clientY];
      return;
    }
    e.preventDefault();
    clearTimeout(resting);
    part.error.textContent = "";
    choose(thing.id);
    thing.hit.focus({ preventScroll: true, focusVisible: false });
    if (!mayMove(thing.id)) return;
    const at = onPlan(under(e));
    drag = { id: thing.id, pointer: e.pointerId, from: [...thing.pose], at, turning, moved: false };
    root.classList.add("dk-dragging");
  });
  svg.addEventListener("pointermove", (e) => {
    if (fingers.has(e.pointerId)) fingers.set(e.pointerId, [e.clientX, e.clientY]);
    if (pinch && fingers.size === 2) {
      const [a, b] = [...fingers.values()];
      const far = Math.hypot(a[0] - b[0], a[1] - b[1]);
      zoomTo(pinch.zoom * far / pinch.far, under({ clientX: (a[0] + b[0]) / 2, clientY: (a[1] + b[1]) / 2 }));
    } else if (panning) {
      const k = view().a;
      middle = [middle[0] - (e.clientX - panning[0]) / k, middle[1] - (e.clientY - panning[1]) / k];
      panning = [e.clientX, e.clientY];
      zoomTo(zoom);
    } else if (drag?.pointer === e.pointerId) dragTo(e);
  });
  // Moves come with the frames; a raw one comes at once. It is taken where Python is free.
  svg.addEventListener("pointerrawupdate", (e) => {
    if (!asked && !pinch && drag?.pointer === e.pointerId) dragTo(e);
  });
  function dragTo(e) {
    const [x, y] = onPlan(under(e)), free = e.ctrlKey || e.metaKey, from = drag.from;
    const far = Math.hypot(x - drag.at[0], y - drag.at[1]) * view().a * ground.scale;
    if (!drag.moved && far < 3) return;
    drag.moved = true;
    let pose, lines = [];
    if (drag.turning) {
      pose = [from[0], from[1], turned(Math.atan2(x - from[0], from[1] - y) * 180 / Math.PI, free)];
      snapWords = "";
    } else {
      pose = [from[0] + x - drag.at[0], from[1] + y - drag.at[1], from[2]];
      if (free) {
        pose = [Math.round(pose[0] / ground.round) * ground.round,
          Math.round(pose[1] / ground.round) * ground.round, pose[2]];
        snapWords = "";
      } else {
        const found = snapped(drag.id, pose);
        ({ pose, lines } = found);
        snapWords = found.words;
      }
    }
    showLines(lines);
    if (pose.some((v, i) => v !== things.get(drag.id).pose[i])) move(drag.id, pose);
  }
  // To 15° and to the directions of walls, unless it is held off.
  function turned(degrees, free) {
    const whole = Math.round(degrees);
    if (free || !values.snap?.includes("walls")) return within(whole);
    const all = [Math.round(degrees / 15) * 15];
    for (const [ax, ay, bx, by] of ground.walls) {
      const wall = Math.atan2(by - ay, bx - ax) * 180 / Math.PI;
      all.push(wall + Math.round((degrees - wall) / 90) * 90);
    }
    const best = all.sort((a, b) => Math.abs(a - degrees) - Math.abs(b - degrees))[0];
    return within(Math.abs(best - degrees) < 4 ? Number(best.toFixed(3)) : whole);
  }
  const up = (e) => {
    fingers.delete(e.pointerId);
    if (fingers.size < 2) pinch = null;
    panning = null;
    if (drag?.pointer === e.pointerId) letGo(e.type === "pointercancel");
  };
  svg.addEventListener("pointerup", up);
  svg.addEventListener("pointercancel", up);
  // A finger on a piece or two on the sheet are ours; one on the floor scrolls the page.
  svg.addEventListener("touchstart", (e) => {
    if (e.touches.length > 1 || e.target.closest(".dk-hit, .dk-layer-handle")) e.preventDefault();
  }, { passive: false });
  svg.addEventListener("wheel", (e) => {
    if (!e.ctrlKey) return;
    e.preventDefault();
    zoomTo(zoom * Math.exp(-e.deltaY / 300), under(e));
  }, { passive: false });

  // ---- keys -------------------------------------------------------------------------
  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  part.paper.addEventListener("keydown", (e) => {
    const id = e.target.closest?.(".dk-hit")?.dataset.thing ?? chosen;
    const way = WAYS[e.key], thing = things.get(id);
    if (e.key === "Escape" && drag) letGo(true);
    else if (e.key.toLowerCase() === "m" && !e.ctrlKey && !e.metaKey) pick("");
    else if ((e.key === "Enter" || e.key === " ") && picking && thing) pick(`piece:${id}`, `the ${thing.name}`);
    else if (way && thing && !e.ctrlKey && !e.metaKey) {
      choose(id);
      if (mayMove(id)) {
        const [x, y, turn] = thing.pose;
        if (e.altKey) move(id, [x, y, within(turn - 15 * (way[0] || -way[1]))]);
        else {
          const by = e.shiftKey ? ground.far : ground.step;
          move(id, [x + way[0] * by, y + way[1] * by, turn].map((v) => Number(v.toFixed(6))));
        }
        bringIntoView(id);
        clearTimeout(resting);
        resting = setTimeout(() => rest(id), REST);
      }
    } else if (e.key === "+" || e.key === "=") zoomTo(zoom * 1.5, aboutChosen());
    else if (e.key === "-") zoomTo(zoom / 1.5, aboutChosen());
    else if (e.key === "0") zoomTo(1);
    else if (e.key === "Enter" || e.key === " ") choose(id);
    else return;
    e.preventDefault();
    e.stopPropagation();
  });
  root.addEventListener("keydown", (e) => {
    if (e.key === "Escape" && picking) pick("");
    if (!(e.ctrlKey || e.metaKey) || e.target.matches("input, textarea, select")) return;
    const key = e.key.toLowerCase();
    const what = key === "z" ? (e.shiftKey ? "redo" : "undo") : key === "y" ? "redo" : "";
    if (!what) return;
    clearTimeout(resting);
    ask({ do: what });
    e.preventDefault();
    e.stopPropagation();
  });
  layer.hits.addEventListener("focusin", (e) => {
    const id = e.target.closest(".dk-hit")?.dataset.thing;
    if (!id || drag) return;
    if (resting) rest(chosen);
    choose(id);
    bringIntoView(id);
  });

  // ---- controls under the sheet ---------------------------------------------------------
  let shows = [], fields = {};
  const set = (key, value) => {
    if (key === "zoom") zoomTo(Number(value), aboutChosen());
    else if (key === "piece") choose(value);
    else {
      values = { ...values, [key]: value };
      ask({ do: "set", key, value });
    }
    showValues();
  };
  const valueOf = (key) => (key === "zoom" ? String(ZOOMS.find((z) => Math.abs(z - zoom) < 0.01) ?? "")
    : key === "piece" ? chosen : values[key]);
  function labelled(spec, cls) {
    const box = make("div", `dk-control ${cls}`), label = box.appendChild(make("span", "dk-label", spec.label));
    label.id = `${uid}-${spec.id}`;
    return [box, label.id];
  }
  const kinds = {
    words(spec) {
      const [box, label] = labelled(spec, "dk-words");
      const group = box.appendChild(make("div", "dk-word-row"));
      group.setAttribute("role", "radiogroup");
      group.setAttribute("aria-labelledby", label);
      group.dataset.control = spec.id;
      const buttons = spec.choices.map(([id, text]) => {
        const b = group.appendChild(make("button", "dk-word", text));
        b.type = "button";
        b.setAttribute("role", "radio");
        b.dataset.choice = id;
        b.addEventListener("click", () => set(spec.id, id));
        return b;
      });
      group.addEventListener("keydown", (e) => {
        const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
        if (!step) return;
        const at = Math.max(0, buttons.indexOf(document.activeElement));
        const next = buttons[(at + step + buttons.length) % buttons.length];
        next.focus();
        set(spec.id, next.dataset.choice);
        e.preventDefault();
        e.stopPropagation();
      });
      return [box, () => {
        const v = String(valueOf(spec.id) ?? ""), any = buttons.some((b) => b.dataset.choice === v);
        buttons.forEach((b, i) => {
          b.setAttribute("aria-checked", b.dataset.choice === v);
          b.tabIndex = b.dataset.choice === v || (!any && i === 0) ? 0 : -1;
        });
      }];
    },
    checks(spec) {
      const [box, label] = labelled(spec, "dk-checks");
      const row = box.appendChild(make("div", "dk-check-row"));
      row.setAttribute("role", "group");
      row.setAttribute("aria-labelledby", label);
      row.dataset.control = spec.id;
      const boxes = spec.choices.map(([id, text]) => {
        const l = row.appendChild(make("label", "dk-check")), c = l.appendChild(make("input"));
        c.type = "checkbox";
        c.value = id;
        l.append(` ${text}`);
        c.addEventListener("change", () => set(spec.id, boxes.filter((b) => b.checked).map((b) => b.value)));
        return c;
      });
      return [box, () => boxes.forEach((b) => { b.checked = (values[spec.id] ?? []).includes(b.value); })];
    },
    choose(spec) {
      const [box, label] = labelled(spec, "dk-choose");
      const s = box.appendChild(make("select"));
      s.setAttribute("aria-labelledby", label);
      s.dataset.control = spec.id;
      for (const [id, text] of spec.choices) s.appendChild(make("option", "", text)).value = id;
      s.addEventListener("change", () => set(spec.id, s.value));
      return [box, () => { s.value = String(valueOf(spec.id) ?? ""); }];
    },
    typed(spec) {
      const [box, label] = labelled(spec, "dk-field");
      const i = box.appendChild(make("input"));
      i.type = "text";
      i.setAttribute("aria-labelledby", label);
      i.dataset.control = spec.id;
      i.spellcheck = false;
      i.placeholder = spec.hint ?? "";
      i.addEventListener("change", () => set(spec.id, i.value));
      i.addEventListener("keydown", (e) => e.stopPropagation());
      return [box, () => { if (document.activeElement !== i) i.value = valueOf(spec.id) ?? ""; }];
    },
    field(spec) {
      const [box, label] = labelled(spec, "dk-field");
      const i = box.appendChild(make("input"));
      i.type = "text";
      i.setAttribute("aria-labelledby", label);
      i.dataset.control = spec.id;
      i.spellcheck = false;
      i.placeholder = spec.hint ?? "";
      i.addEventListener("change", () => ask({ do: "place", id: chosen, field: spec.id, text: i.value }));
      i.addEventListener("keydown", (e) => e.stopPropagation());
      fields[spec.id] = i;
      return [box, () => {}];
    },
  };
  const fill = (texts) => {
    for (const [key, text] of Object.entries(texts)) {
      if (fields[key] && document.activeElement !== fields[key]) fields[key].value = text;
    }
  };
  const showValues = () => shows.forEach((show) => show());

  function button(spec, deed) {
    const b = make("button", spec.main ? "dk-act dk-main" : "dk-act", spec.text);
    b.type = "button";
    b.disabled = !!spec.off;
    b.dataset.action = spec.id;
    b.addEventListener("click", () => {
      if (spec.slow) part.note.textContent = spec.slow;
      deed(spec.id);
    });
    return b;
  }
  const deed = (id) => {
    if (resting) rest(chosen);
    const about = { turn: { id: chosen }, lock: { id: chosen }, swap: { a: chosen, b: values.other } };
    ask({ do: id, ...(about[id] ?? {}) });
  };
  // A built part is kept where its words are the same, so that focus stays where it was.
  const built = {};
  const fresh = (key, now) => {
    const text = JSON.stringify(now ?? null);
    if (built[key] === text) return false;
    built[key] = text;
    return true;
  };
  function keepFocus(change) {
    const had = root.contains(document.activeElement) ? document.activeElement : null;
    const mark = had && ["control", "choice", "action"].map((k) => [k, had.dataset[k]]).find(([, v]) => v !== undefined);
    change();
    if (!mark || had.isConnected) return;
    root.querySelector(`[data-${mark[0]}="${CSS.escape(mark[1])}"]:not(:disabled)`)?.focus({ preventScroll: true });
  }
  function drawDesk() {
    const desk = model.get("desk");
    values = { ...desk.values };
    keepFocus(() => {
      if (!fresh("controls", [desk.controls, desk.piece, desk.swap])) return;
      shows = [];
      fields = {};
      part.controls.replaceChildren();
      for (const spec of desk.controls) {
        const [box, show] = kinds[spec.kind](spec);
        part.controls.append(box);
        shows.push(show);
        if (spec.id === "other") box.append(button(desk.swap, deed));
        if (spec.buttons) {
          const row = box.appendChild(make("div", "dk-button-row"));
          row.append(...spec.buttons.map((b) => button(b, b.id === "point" ? () => pick("") : deed)));
        }
        if (spec.id !== "piece") continue;
        const [own, label] = labelled({ id: "this", label: "This piece" }, "dk-buttons");
        const row = own.appendChild(make("div", "dk-button-row"));
        row.setAttribute("role", "group");
        row.setAttribute("aria-labelledby", label);
        row.append(...desk.piece.map((b) => button(b, deed)));
        part.controls.append(own);
      }
    });
    fill(desk.fields);
    part.kept.textContent = desk.kept;
    showValues();
  }

  // ---- words ------------------------------------------------------------------------------
  function brief(rows) {
    if (!fresh("brief", rows)) return;
    part.brief.replaceChildren(...(rows ?? []).map((b) => {
      const li = make("li", `dk-wish dk-${b.state.replaceAll(" ", "-")}`);
      li.append(make("span", "dk-square"), `${b.state}: ${b.text}`);
      return li;
    }));
  }
  function findings(f) {
    if (!f) return;
    if (!part.rows) {
      part.findings.append(make("h2", "", f.title));
      part.rows = part.findings.appendChild(make("div"));
    }
    const old = part.rows.children;
    f.rows.forEach((row, i) => {
      const text = JSON.stringify(row);
      if (old[i]?.dataset.row === text) return;
      const r = make("div", "dk-finding"), state = row.state.replaceAll(" ", "-");
      r.dataset.row = text;
      r.append(make("span", row.n ? "dk-number" : "", row.n ?? ""),
        make("span", `dk-state dk-state-${state}`, row.state));
      const p = r.appendChild(make("p"));
      for (const run of [row.text].flat()) p.append(Array.isArray(run) ? make("strong", "", run[0]) : run);
      r.append(make("span", "dk-source", row.source ?? ""));
      if (old[i]) old[i].replaceWith(r); else part.rows.append(r);
    });
    while (old.length > Math.max(1, f.rows.length)) part.rows.lastChild.remove();
    if (!f.rows.length) part.rows.replaceChildren(make("p", "dk-none", f.none ?? ""));
  }
  function table(t) {
    const box = make("div", "dk-table"), h = box.appendChild(make("h2", "", t.title));
    h.append(make("span", "dk-head-note", t.note));
    const el = box.appendChild(make("table")), head = el.createTHead().insertRow();
    for (const text of t.head) {
      const cell = head.appendChild(make(text ? "th" : "td", "", text));
      if (text) cell.scope = "col";
    }
    const body = el.createTBody();
    for (const row of t.rows) {
      const tr = body.insertRow();
      row.forEach((cell, i) => {
        const td = tr.appendChild(make(i ? "td" : "th", "", cell));
        if (!i) td.scope = "row";
      });
    }
    return box;
  }
  function say() {
    const said = model.get("said");
    part.where.textContent = said.where ?? "";
    part.question.textContent = said.question ?? "";
    part.answer.textContent = said.answer ?? "";
    brief(said.brief);
    if (fresh("said findings", said.findings)) findings(said.findings);
    if (fresh("tables", said.tables)) part.tables.replaceChildren(...(said.tables ?? []).map(table));
    if (fresh("working", said.working)) {
      part.workingRows.replaceChildren(...(said.working ?? []).map(([what, how, source]) => {
        const r = make("div", "dk-work");
        r.append(make("strong", "", what), make("span", "", how), make("span", "dk-source", source));
        return r;
      }));
      part.working.hidden = !(said.working ?? []).length;
    }
    keepFocus(() => {
      if (fresh("actions", said.actions)) {
        part.actions.replaceChildren(...(said.actions ?? []).map((a) => button(a, deed)));
      }
    });
    part.note.textContent = said.note ?? "";
    if (said.said) part.spoken.textContent = said.said;
    root.querySelectorAll("[aria-invalid]").forEach((n) => n.removeAttribute("aria-invalid"));
    part.error.textContent = said.error?.text ?? "";
    if (said.error) {
      root.querySelector(`[data-control="${CSS.escape(said.error.control ?? "")}"]`)
        ?.setAttribute("aria-invalid", "true");
    }
  }

  model.on("change:ground", drawGround);
  model.on("change:sheet", drawThings);
  model.on("change:live", drawLive);
  model.on("change:ways", drawWays);
  model.on("change:desk", drawDesk);
  model.on("change:said", say);
  drawGround();
  drawDesk();
  say();
  drawThings();
  showValues();
  root.dataset.answered = model.get("answered");

  // Another study may have kept a change: ask while the page can be seen and nothing moves.
  const timer = setInterval(() => {
    if (!document.hidden && root.isConnected && !drag && !resting && !steps.length) ask({ do: "look" });
  }, 1000);
  return () => {
    for (const t of [timer, silence, resting]) clearTimeout(t);
    removeEventListener("resize", forget);
    document.removeEventListener("scroll", forget, true);
  };
}

export default { render };
