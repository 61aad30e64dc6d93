// One study page. Python sends what to show; this file draws it and sends back
// what the person chose. Text is always set as text, never as markup; the only
// markup taken is the SVG that designkit's own renderer made (and escaped).

function make(tag, cls, text) {
  const el = document.createElement(tag);
  if (cls) el.className = cls;
  if (text !== undefined) el.textContent = text;
  return el;
}

// Bold runs come as ["plain", ["bold"], "plain"].
function runs(el, parts) {
  el.replaceChildren();
  for (const part of Array.isArray(parts) ? parts : [parts]) {
    if (Array.isArray(part)) el.append(make("strong", "", part[0]));
    else el.append(String(part));
  }
}

const NBSP = "\u00a0";

function shown(spec, value) {
  if (spec.unit === "ft-in") {
    let s = Math.round(Math.abs(value) / 0.0254 * 16);
    const feet = Math.floor(s / 192);
    s -= feet * 192;
    let inch = Math.floor(s / 16), over = s % 16, under = 16;
    while (over && over % 2 === 0) { over /= 2; under /= 2; }
    return `${value < 0 ? "−" : ""}${feet}'-${inch}${over ? ` ${over}/${under}` : ""}"`;
  }
  const scaled = value * (spec.factor ?? 1);
  const digits = spec.digits ?? 0;
  const [whole, frac] = Math.abs(scaled).toFixed(digits).split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, spec.group ?? NBSP);
  const sign = scaled < 0 && Number(scaled.toFixed(digits)) !== 0 ? "−" : "";
  return sign + grouped + (frac ? "." + frac : "") + (spec.unit ? NBSP + spec.unit : "");
}

let serial = 0;

function render({ model, el }) {
  const uid = `dk${++serial}`;
  const root = make("div", "dk-page");
  root.setAttribute("lang", "en");
  el.append(root);
  const style = make("style");
  style.textContent = model.get("font_css");
  root.append(style);

  const part = {};
  const add = (name, tag, cls, parent = root) => (part[name] = parent.appendChild(make(tag, cls)));

  add("where", "p", "dk-where");
  add("question", "h1", "dk-question");
  add("answer", "p", "dk-answer");
  part.answer.setAttribute("aria-live", "polite");
  add("links", "ul", "dk-links");
  add("brief", "ul", "dk-brief");
  add("point", "p", "dk-point");
  add("near", "div", "dk-near");
  part.near.hidden = true;
  for (const [text, go] of [
    ["Closer", () => zoomTo(zoom * 2)],
    ["Farther", () => zoomTo(zoom / 2)],
    ["Whole sheet", () => zoomTo(1)],
  ]) {
    const b = part.near.appendChild(make("button", "dk-act", text));
    b.type = "button";
    b.addEventListener("click", go);
  }
  part.near.append(make("span", "dk-hint",
    "or Ctrl and the wheel; on the picture the keys + and −, 0 for the whole, arrows to move"));
  add("picture", "div", "dk-paper");
  add("error", "p", "dk-error");
  part.error.setAttribute("role", "alert");
  add("controls", "div", "dk-controls");
  const more = add("more", "details", "dk-more");
  more.append(make("summary", "", "More"));
  add("moreControls", "div", "dk-controls", more);
  add("findings", "section", "dk-findings");
  add("tables", "div", "dk-tables");
  const work = add("working", "details", "dk-working");
  work.append(make("summary", "", "How is this worked out?"));
  add("workingRows", "div", "", work);
  add("options", "section", "dk-options");
  add("actions", "div", "dk-actions");
  add("note", "p", "dk-note");
  part.note.setAttribute("aria-live", "polite");

  // ---- controls ----------------------------------------------------------
  let sequence = model.get("asked") ?? 0;
  function put(id, value) {
    sequence += 1;
    model.set("values", { ...model.get("values"), [id]: value });
    model.set("asked", sequence);
    model.save_changes();
  }

  function label(spec, box) {
    const l = make("span", "dk-label", spec.label);
    l.id = `${uid}-${spec.id}`;
    box.append(l);
    return l.id;
  }

  function scale(spec) {
    const box = make("div", "dk-control dk-scale");
    const labelled = label(spec, box);
    const row = box.appendChild(make("div", "dk-scale-row"));
    const W = 300, H = 44, L = 8, R = W - 8;
    const ns = "http://www.w3.org/2000/svg";
    const svg = document.createElementNS(ns, "svg");
    svg.setAttribute("viewBox", `0 0 ${W} ${H}`);
    svg.setAttribute("class", "dk-ticks");
    svg.setAttribute("role", "slider");
    svg.setAttribute("tabindex", "0");
    svg.setAttribute("aria-labelledby", labelled);
    svg.setAttribute("aria-valuemin", spec.min);
    svg.setAttribute("aria-valuemax", spec.max);
    svg.dataset.control = spec.id;
    const line = (x1, y1, x2, y2) => {
      const n = document.createElementNS(ns, "line");
      for (const [k, v] of Object.entries({ x1, y1, x2, y2 })) n.setAttribute(k, v);
      svg.append(n);
      return n;
    };
    line(L, 18, R, 18);
    for (let i = 0; i <= 20; i++) {
      const x = L + (R - L) * i / 20;
      line(x, 18, x, i % 10 === 0 ? 6 : i % 5 === 0 ? 9 : 12);
    }
    const pointer = document.createElementNS(ns, "polygon");
    svg.append(pointer);
    const ends = [[spec.min, L, "start"], [spec.max, R, "end"]];
    for (const [v, x, anchor] of ends) {
      const t = document.createElementNS(ns, "text");
      t.setAttribute("x", x); t.setAttribute("y", 42); t.setAttribute("text-anchor", anchor);
      t.textContent = shown(spec, v);
      svg.append(t);
    }
    row.append(svg);
    const out = row.appendChild(make("output", "dk-value"));
    const show = () => {
      const v = Number(model.get("values")[spec.id]);
      const clamped = Math.min(spec.max, Math.max(spec.min, v));
      const x = L + (R - L) * (clamped - spec.min) / (spec.max - spec.min);
      pointer.setAttribute("points", `${x},19 ${x - 7},31 ${x + 7},31`);
      svg.setAttribute("aria-valuenow", v);
      svg.setAttribute("aria-valuetext", shown(spec, v));
      out.textContent = shown(spec, v);
    };
    const set = (v) => {
      const stepped = Math.round((v - spec.min) / spec.step) * spec.step + spec.min;
      const next = Math.min(spec.max, Math.max(spec.min, Number(stepped.toFixed(6))));
      if (next === Number(model.get("values")[spec.id])) return;
      put(spec.id, next);
      show();
    };
    svg.addEventListener("keydown", (e) => {
      const v = Number(model.get("values")[spec.id]);
      const big = e.shiftKey ? 10 : 1;
      const jump = {
        ArrowRight: spec.step * big, ArrowUp: spec.step * big,
        ArrowLeft: -spec.step * big, ArrowDown: -spec.step * big,
        PageUp: spec.step * 10, PageDown: -spec.step * 10,
      }[e.key];
      if (jump !== undefined) set(v + jump);
      else if (e.key === "Home") set(spec.min);
      else if (e.key === "End") set(spec.max);
      else return;
      e.preventDefault();
      e.stopPropagation();
    });
    const drag = (e) => {
      const b = svg.getBoundingClientRect();
      const x = (e.clientX - b.left) / b.width * W;
      set(spec.min + (x - L) / (R - L) * (spec.max - spec.min));
    };
    svg.addEventListener("pointerdown", (e) => {
      svg.setPointerCapture(e.pointerId);
      drag(e);
      svg.onpointermove = drag;
    });
    const stop = () => { svg.onpointermove = null; };
    svg.addEventListener("pointerup", stop);
    svg.addEventListener("pointercancel", stop);
    return [box, show];
  }

  function words(spec) {
    const box = make("div", "dk-control dk-words");
    const labelled = label(spec, box);
    const group = box.appendChild(make("div", "dk-word-row"));
    group.setAttribute("role", "radiogroup");
    group.setAttribute("aria-labelledby", labelled);
    group.dataset.control = spec.id;
    const buttons = spec.choices.map(([id, text]) => {
      const b = group.appendChild(make("button", "dk-word", text));
      b.type = "button";
      b.setAttribute("role", "radio");
      b.dataset.choice = id;
      b.addEventListener("click", () => { put(spec.id, id); show(); });
      return b;
    });
    const show = () => {
      const v = String(model.get("values")[spec.id]);
      const any = buttons.some((b) => b.dataset.choice === v);
      buttons.forEach((b, i) => {
        const on = b.dataset.choice === v;
        b.setAttribute("aria-checked", on);
        b.tabIndex = on || (!any && i === 0) ? 0 : -1;
      });
    };
    group.addEventListener("keydown", (e) => {
      const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
      if (!step) return;
      const at = Math.max(0, buttons.findIndex((b) => b.getAttribute("aria-checked") === "true"));
      const next = buttons[(at + step + buttons.length) % buttons.length];
      put(spec.id, next.dataset.choice);
      show();
      next.focus();
      e.preventDefault();
      e.stopPropagation();
    });
    return [box, show];
  }

  function checks(spec) {
    const box = make("div", "dk-control dk-checks");
    const labelled = label(spec, box);
    const row = box.appendChild(make("div", "dk-check-row"));
    row.setAttribute("role", "group");
    row.setAttribute("aria-labelledby", labelled);
    row.dataset.control = spec.id;
    const boxes = spec.choices.map(([id, text]) => {
      const l = row.appendChild(make("label", "dk-check"));
      const c = l.appendChild(make("input"));
      c.type = "checkbox";
      c.value = id;
      l.append(" " + text);
      c.addEventListener("change", () =>
        put(spec.id, boxes.filter((b) => b.checked).map((b) => b.value)));
      return c;
    });
    const show = () => {
      const v = model.get("values")[spec.id] ?? [];
      boxes.forEach((b) => { b.checked = v.includes(b.value); });
    };
    return [box, show];
  }

  function choose(spec) {
    const box = make("div", "dk-control dk-choose");
    const labelled = label(spec, box);
    const s = box.appendChild(make("select"));
    s.setAttribute("aria-labelledby", labelled);
    s.dataset.control = spec.id;
    for (const [id, text] of spec.choices) {
      const o = s.appendChild(make("option", "", text));
      o.value = id;
    }
    s.addEventListener("change", () => put(spec.id, s.value));
    return [box, () => { s.value = String(model.get("values")[spec.id]); }];
  }

  // What is typed stays in this browser until Python says that it is on the disk:
  // neither a reload nor a crash loses a key, also of words that are half typed.
  const shelf = {
    asked: new Map(),  // by control, the question that took its words along
    name: () => model.get("draft") && `designkit ${model.get("draft")}`,
    read() {
      try { return JSON.parse(localStorage.getItem(shelf.name())) ?? {}; } catch { return {}; }
    },
    write(held) {
      if (!shelf.name()) return;
      try {
        if (Object.keys(held).length) localStorage.setItem(shelf.name(), JSON.stringify(held));
        else localStorage.removeItem(shelf.name());
      } catch { /* no room or not allowed: the draft on the disk is a moment older */ }
    },
    // With what was chosen beside it: the same words in another room would be wrong.
    lay(id, value) {
      const values = model.get("values"), chosen = {};
      for (const spec of model.get("controls")) {
        if (spec.kind === "words" || spec.kind === "choose") chosen[spec.id] = values[spec.id];
      }
      shelf.asked.delete(id);
      shelf.write({ ...shelf.read(), [id]: [value, chosen] });
    },
    drop(done) {
      const held = shelf.read(), ids = Object.keys(held).filter((id) => done(id, held[id]));
      ids.forEach((id) => delete held[id]);
      if (ids.length) shelf.write(held);
    },
  };
  // What a page before this one left there: first what was chosen, then the words.
  const back = [];
  const isNow = ([id, value]) => String(model.get("values")[id] ?? "") === String(value);
  function takeBack() {
    while (back.length) {
      const [id, value, chosen] = back.shift();
      if (chosen && !Object.entries(chosen).every(isNow)) {
        part.note.textContent = `Typed and not taken, as the page has changed: ${value}`;
        delete before.note;
        shelf.drop((one) => one === id);
      } else if (!isNow([id, value])) {
        put(id, value);
        if (chosen) shelf.asked.set(id, sequence);
        return;
      } else if (chosen) {
        shelf.drop((one) => one === id);
      }
    }
  }

  // Words in one line or many, sent when they are left, and after a pause where there is one.
  function typed(spec, tag, pause) {
    const box = make("div", `dk-control dk-${spec.kind}`);
    const labelled = label(spec, box);
    const i = box.appendChild(make(tag));
    if (pause) i.rows = spec.rows ?? 6;
    else i.type = "text";
    i.setAttribute("aria-labelledby", labelled);
    i.dataset.control = spec.id;
    i.spellcheck = false;
    if (spec.hint) i.placeholder = spec.hint;
    // Half-typed words are the person's: no answer to something else sets them anew.
    let typing = false, timer = 0;
    const given = () => String(model.get("values")[spec.id] ?? "");
    const give = () => {
      clearTimeout(timer);
      if (!typing || !i.isConnected) return;
      typing = false;
      if (i.value !== given()) put(spec.id, i.value);
      shelf.asked.set(spec.id, sequence);
    };
    i.addEventListener("input", () => {
      typing = true;
      shelf.lay(spec.id, i.value);
      clearTimeout(timer);
      if (pause) timer = setTimeout(give, pause);
    });
    for (const kind of ["change", "blur"]) i.addEventListener(kind, give);
    for (const kind of ["keydown", "paste"]) i.addEventListener(kind, (e) => e.stopPropagation());
    const show = () => {
      if (typing) return;
      i.value = given();
      if (shelf.asked.has(spec.id)) shelf.drop((id, held) => id === spec.id && held[0] !== i.value);
    };
    return [box, show, give];
  }
  const field = (spec) => typed(spec, "input", 0);
  const text = (spec) => typed(spec, "textarea", 500);

  // A file that is chosen, dropped or pasted goes to Python with its bytes.
  function file(spec) {
    const box = make("div", "dk-control dk-file");
    const labelled = label(spec, box);
    const i = box.appendChild(make("input"));
    i.type = "file";
    i.accept = spec.accept ?? "";
    i.setAttribute("aria-labelledby", labelled);
    i.dataset.control = spec.id;
    if (spec.hint) box.append(make("span", "dk-hint", spec.hint));
    const most = (spec.most ?? 64) * 1e6;
    const PART = 4e6;
    const give = async (given) => {
      if (!given) return;
      if (given.size > most) {
        part.note.textContent = `${given.name} has ${Math.ceil(given.size / 1e6)} MB; ` +
          `no more than ${most / 1e6} MB can be taken.`;
        delete before.note;
        return;
      }
      const bytes = await given.arrayBuffer();
      // In parts: the server closes a connection that brings a message of over 10 MB.
      const parts = Math.max(1, Math.ceil(bytes.byteLength / PART));
      for (let part = 0; part < parts; part += 1) {
        model.send({ action: "file", control: spec.id, name: given.name, part, parts }, undefined,
          [bytes.slice(part * PART, (part + 1) * PART)]);
      }
    };
    i.addEventListener("change", () => { give(i.files[0]); i.value = ""; });
    box.addEventListener("dragover", (e) => e.preventDefault());
    box.addEventListener("drop", (e) => { e.preventDefault(); give(e.dataTransfer.files[0]); });
    box.addEventListener("paste", (e) => give(e.clipboardData?.files[0]));
    return [box, () => {}];
  }

  const kinds = { scale, words, checks, choose, field, text, file };
  let shows = [], gives = [];
  function buildControls() {
    const focused = document.activeElement;
    const had = root.contains(focused) ? focused.dataset.control : undefined;
    const words = had && focused.matches("input[type=text], textarea")
      ? [focused.value, focused.selectionStart, focused.selectionEnd] : null;
    part.controls.replaceChildren();
    part.moreControls.replaceChildren();
    shows = [];
    gives = [];
    for (const spec of model.get("controls")) {
      const [box, show, give] = kinds[spec.kind](spec);
      (spec.more ? part.moreControls : part.controls).append(box);
      shows.push(show);
      if (give) gives.push(give);
    }
    part.more.hidden = !part.moreControls.childElementCount;
    showValues();
    if (!had) return;
    const again = root.querySelector(`[data-control="${CSS.escape(had)}"]`);
    again?.focus();
    if (words && again?.matches("input[type=text], textarea")) {
      const fresh = again.value !== words[0];  // half-typed words stay as they were
      again.value = words[0];
      again.setSelectionRange(words[1], words[2]);
      if (fresh) again.dispatchEvent(new Event("input"));
    }
  }
  const showValues = () => shows.forEach((f) => f());

  // ---- what Python says --------------------------------------------------
  const send = (what, more = {}) => model.send({ action: what, ...more });

  function drawPicture() {
    const { scrollLeft, scrollTop } = part.picture;
    part.picture.innerHTML = model.get("picture");
    if (zoom > 1) {
      fit();
      part.picture.scrollTo(scrollLeft, scrollTop);
    }
    root.dataset.drawn = model.get("answered");
    root.dispatchEvent(new CustomEvent("dk-drawn", { bubbles: true }));
  }

  // Coming closer to a picture: it grows in its frame and is moved by scrolling.
  let zoom = 1;
  function fit() {
    const svg = part.picture.querySelector("svg");
    if (!svg) return;
    if (zoom > 1) part.picture.style.height ||= `${part.picture.clientHeight}px`;
    else part.picture.style.height = "";
    part.picture.classList.toggle("dk-close", zoom > 1);
    svg.style.width = zoom > 1 ? `${100 * zoom}%` : "";
    root.dataset.zoom = zoom;
  }
  function zoomTo(z, x, y) {
    const box = part.picture, frame = box.getBoundingClientRect();
    const svg = box.querySelector("svg");
    if (!svg) return;
    const here = new DOMPoint(x ?? frame.left + frame.width / 2, y ?? frame.top + frame.height / 2);
    const on = here.matrixTransform(svg.getScreenCTM().inverse());
    zoom = Math.min(8, Math.max(1, z));
    fit();
    const now = on.matrixTransform(svg.getScreenCTM());
    box.scrollBy(now.x - here.x, now.y - here.y);
  }
  part.picture.addEventListener("wheel", (e) => {
    if (!e.ctrlKey || part.near.hidden) return;
    e.preventDefault();
    zoomTo(zoom * Math.exp(-e.deltaY / 300), e.clientX, e.clientY);
  }, { passive: false });
  part.picture.addEventListener("keydown", (e) => {
    const z = { "+": zoom * 2, "=": zoom * 2, "-": zoom / 2, 0: 1 }[e.key];
    if (z === undefined || part.near.hidden || e.ctrlKey || e.metaKey) return;
    e.preventDefault();
    zoomTo(z);
  });

  // Pointing at the picture, in the drawing's own millimetres.
  part.picture.addEventListener("click", (e) => {
    const svg = part.picture.querySelector("svg");
    if (!svg || !model.get("said").point) return;
    const at = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
    send("point", { x: at.x, y: at.y });
  });

  function table(t) {
    const box = make("div", "dk-table");
    if (t.title) {
      const h = box.appendChild(make("h2", "", t.title));
      if (t.note) h.append(make("span", "dk-head-note", t.note));
    }
    const el = box.appendChild(make("table"));
    const head = el.createTHead().insertRow();
    t.head.forEach((text, i) => {
      const th = head.appendChild(make(text ? "th" : "td", t.align?.[i] === "r" ? "dk-r" : "", text));
      if (text) th.scope = "col";
    });
    const body = el.createTBody();
    for (const [r, row] of t.rows.entries()) {
      const tr = body.insertRow();
      row.forEach((cell, i) => {
        const td = tr.appendChild(make(i === 0 ? "th" : "td", t.align?.[i] === "r" ? "dk-r" : ""));
        if (i === 0) td.scope = "row";
        const id = i === 0 ? t.pick?.[r] : undefined;
        if (id === undefined || id === null) return runs(td, cell);
        const b = td.appendChild(make("button", "dk-pick"));
        b.type = "button";
        b.dataset.row = id;
        if (t.picked === id) b.setAttribute("aria-current", "true");
        runs(b, cell);
        b.addEventListener("click", () => send("pick", { table: t.id, row: id }));
      });
    }
    return box;
  }

  let before = {};
  function say() {
    const said = model.get("said");
    const fresh = (key) => {
      const now = JSON.stringify(said[key] ?? null);
      if (before[key] === now) return false;
      before[key] = now;
      return true;
    };
    if (fresh("where")) part.where.textContent = said.where ?? "";
    if (fresh("question")) part.question.textContent = said.question ?? "";
    if (fresh("answer")) runs(part.answer, said.answer ?? "");
    if (fresh("brief")) {
      part.brief.replaceChildren();
      for (const b of said.brief ?? []) {
        const li = part.brief.appendChild(make("li", `dk-wish dk-${b.state.replaceAll(" ", "-")}`));
        li.append(make("span", "dk-square"), `${b.state}: ${b.text}`);
      }
    }
    if (fresh("links")) {
      part.links.replaceChildren(...(said.links ?? []).map((link) => {
        const li = make("li", "");
        const a = li.appendChild(make("a", "", link.text));
        a.href = link.href;
        if (link.note) li.append(make("span", "dk-source", ` ${link.note}`));
        return li;
      }));
    }
    if (fresh("zoom")) {
      part.near.hidden = !said.zoom;
      if (!said.zoom) zoomTo(1);
      part.picture.toggleAttribute("tabindex", !!said.zoom);
      if (said.zoom) {
        part.picture.tabIndex = 0;
        part.picture.setAttribute("role", "group");
        part.picture.setAttribute("aria-label", "The sheet");
      }
    }
    if (fresh("point")) {
      part.point.textContent = said.point ?? "";
      part.picture.classList.toggle("dk-pointing", !!said.point);
    }
    if (fresh("error")) {
      part.error.replaceChildren();
      root.querySelectorAll("[aria-invalid]").forEach((n) => n.removeAttribute("aria-invalid"));
      if (said.error) {
        part.error.textContent = said.error.text;
        root.querySelector(`[data-control="${CSS.escape(said.error.control ?? "")}"]`)
          ?.setAttribute("aria-invalid", "true");
      }
    }
    if (fresh("findings")) {
      part.findings.replaceChildren();
      const f = said.findings;
      if (f) {
        part.findings.append(make("h2", "", f.title));
        for (const row of f.rows) {
          const r = part.findings.appendChild(make("div", "dk-finding"));
          r.append(make("span", row.n ? "dk-number" : "", row.n ?? ""));
          const state = row.state.replaceAll(" ", "-");
          r.append(make("span", `dk-state dk-state-${state}`, row.state));
          runs(r.appendChild(make("p", "")), row.text);
          r.append(make("span", "dk-source", row.source ?? ""));
        }
        if (!f.rows.length) part.findings.append(make("p", "dk-none", f.none ?? ""));
      }
    }
    if (fresh("tables")) {
      part.tables.replaceChildren(...(said.tables ?? []).map(table));
    }
    if (fresh("working")) {
      part.workingRows.replaceChildren();
      for (const [what, how, source] of said.working ?? []) {
        const r = part.workingRows.appendChild(make("div", "dk-work"));
        r.append(make("strong", "", what), make("span", "", how), make("span", "dk-source", source));
      }
      part.working.hidden = !(said.working ?? []).length;
    }
    if (fresh("actions")) {
      part.actions.replaceChildren();
      for (const a of said.actions ?? []) {
        const b = part.actions.appendChild(make("button", a.main ? "dk-act dk-main" : "dk-act", a.text));
        b.type = "button";
        b.disabled = !!a.off;
        b.dataset.action = a.id;
        b.addEventListener("click", () => {
          if (a.slow) { part.note.textContent = a.slow; delete before.note; }
          send(a.id);
        });
      }
    }
    if (fresh("note")) part.note.textContent = said.note ?? "";
  }

  // Small plans to choose from: their own trait, because they seldom change.
  function drawOptions() {
    part.options.replaceChildren();
    const o = model.get("options");
    if (!o?.rows?.length) return;
    part.options.append(make("h2", "", o.title));
    const grid = part.options.appendChild(make("div", "dk-option-grid"));
    for (const row of o.rows) {
      const card = grid.appendChild(make("button", "dk-option"));
      card.type = "button";
      card.dataset.option = row.id;
      if (row.current) card.setAttribute("aria-current", "true");
      const paper = card.appendChild(make("span", "dk-option-paper"));
      paper.innerHTML = row.svg;
      const name = card.appendChild(make("span", "dk-option-name"));
      name.append(make("strong", "", row.letter), " " + row.name);
      row.lines.forEach((text, i) =>
        card.append(make("span", i === 0 ? "dk-option-first" : "dk-option-line", text)));
      card.addEventListener("click", () => send("open", { option: row.id }));
    }
  }

  model.on("change:picture", drawPicture);
  model.on("change:options", drawOptions);
  model.on("change:answered", () => {
    root.dataset.answered = model.get("answered");
    takeBack();
  });
  model.on("change:safe", () => {
    shelf.drop((id) => shelf.asked.get(id) <= model.get("safe"));
    root.dataset.safe = model.get("safe");
  });
  model.on("change:said", say);
  model.on("change:controls", buildControls);
  model.on("change:values", showValues);
  buildControls();
  say();
  drawPicture();
  drawOptions();
  root.dataset.answered = model.get("answered");

  for (const [id, [value, chosen]] of Object.entries(shelf.read())) {
    if (id in model.get("values")) back.push(...Object.entries(chosen), [id, value, chosen]);
    else shelf.drop((one) => one === id);
  }
  takeBack();
  const leave = () => { if (document.hidden) gives.forEach((give) => give()); };
  document.addEventListener("visibilitychange", leave);

  // Another study may have kept a change: ask while the page can be seen.
  const timer = setInterval(() => {
    if (!document.hidden && root.isConnected) send("look");
  }, 1000);
  return () => {
    clearInterval(timer);
    document.removeEventListener("visibilitychange", leave);
  };
}

export default { render };
