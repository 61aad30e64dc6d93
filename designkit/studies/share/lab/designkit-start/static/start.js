// What `designkit lab` adds to JupyterLab: a study is there when its notebook is
// open, one can go back to the start page, and leaving a study asks nothing.
// One plain file in the form that JupyterLab loads; no build step.
(() => {
  // Only the one line that ships with designkit is run without being asked;
  // a notebook that came with somebody's project may hold anything.
  const LINE = /^import designkit\.studies; designkit\.studies\.[a-z_]+\(\)$/;

  const codeOf = (model) => {
    const found = [];
    for (let i = 0; i < model.cells.length; i++) {
      const cell = model.cells.get(i);
      if (cell.type === "code") found.push(cell.sharedModel.getSource().trim());
    }
    return found;
  };
  const isStudy = (model) => {
    const code = codeOf(model);
    return code.length > 0 && code.every((text) => LINE.test(text));
  };
  // All that a person can change in a notebook; outputs are not in it.
  const written = (model) => {
    const found = [];
    for (let i = 0; i < model.cells.length; i++) {
      const cell = model.cells.get(i);
      found.push([cell.type, cell.sharedModel.getSource()]);
    }
    return JSON.stringify(found);
  };

  // A study that has run is not a change to save, so that leaving it asks nothing.
  function keepClean(context) {
    const model = context.model;
    let known = written(model);
    const look = () => {
      if (model.dirty && written(model) === known) model.dirty = false;
    };
    model.stateChanged.connect((_, change) => {
      if (change.name === "dirty" && change.newValue) setTimeout(look, 0);
    });
    context.saveState.connect((_, state) => {
      if (state === "completed") known = written(model);
    });
    look();
  }

  const seen = new WeakSet();
  async function opened(app, panel) {
    const context = panel?.context;
    if (!context || !panel.sessionContext || seen.has(panel)) return;
    seen.add(panel);
    await context.ready;
    if (!context.model.cells || !isStudy(context.model)) return;
    keepClean(context);
    await panel.sessionContext.ready;
    await panel.revealed;
    // On a slow machine the kernel may come after the session, and the page after both;
    // a cell that is run without a kernel is passed over without a word.
    const isReady = () => panel.sessionContext.session?.kernel && app.shell.currentWidget === panel;
    for (let i = 0; i < 600 && !isReady() && !panel.isDisposed; i++) {
      await new Promise((done) => setTimeout(done, 100));
    }
    const run = () => app.commands.execute("notebook:run-all-cells");
    // JupyterLab starts a kernel again that has died; the study comes back from its draft.
    let died = false;
    panel.sessionContext.statusChanged.connect((_, status) => {
      if (status === "autorestarting") died = true;
      else if (died && status === "idle" && isReady()) { died = false; void run(); }
    });
    if (!panel.isDisposed && isReady()) await run();
  }

  function config() {
    const el = document.getElementById("jupyter-config-data");
    return el ? JSON.parse(el.textContent || "{}") : {};
  }

  // The way back: a link at the right end of the menu.
  function wayBack() {
    const home = `${config().baseUrl ?? "/"}doc/tree/start.ipynb`;
    const link = document.createElement("a");
    link.id = "designkit-start-page";
    link.href = home;
    link.textContent = "Start page";
    link.style.cssText =
      "position:fixed;top:0;right:14px;z-index:100;line-height:28px;font:600 13px/28px " +
      "var(--jp-ui-font-family);color:var(--jp-ui-font-color1);text-decoration:underline;" +
      "text-underline-offset:3px";
    const show = () => { link.hidden = location.pathname === home; };
    show();
    document.body.append(link);
    setInterval(show, 1000);
  }

  // A link that ends in #open-… is followed once, by itself: the project was just made.
  function follow() {
    const key = "designkit-followed";
    new MutationObserver(() => {
      const link = document.querySelector('.dk-links a[href*="#open-"]');
      if (!link || new URL(link.href).origin !== location.origin) return;
      if (sessionStorage.getItem(key) === link.href) return;
      sessionStorage.setItem(key, link.href);
      location.assign(link.href.split("#")[0]);
    }).observe(document.body, { childList: true, subtree: true });
  }

  const plugin = {
    id: "designkit-start:plugin",
    autoStart: true,
    activate: (app) => {
      wayBack();
      follow();
      const look = () => { void opened(app, app.shell.currentWidget); };
      app.shell.currentChanged?.connect(look);
      void app.restored.then(look);
      setInterval(look, 500);
    },
  };

  window._JUPYTERLAB = window._JUPYTERLAB ?? {};
  window._JUPYTERLAB["designkit-start"] = {
    init: () => {},
    get: () => Promise.resolve(() => ({ __esModule: true, default: plugin })),
  };
})();
