// A hand-written container: JupyterLab asks for init() and get() only, so no bundler is needed.
// It shows our own notebooks as pages and runs them when opened, if - and only if - the notebook is trusted and its own
// metadata say {"readaid": {"page": ...}}. Everything works without it, too: then the reader runs the cells from the menu.
(() => {
  const STYLE = `
  .readaid-page .jp-InputPlaceholder, .readaid-page .jp-cell-toolbar, .readaid-page .jp-Collapser, .readaid-page .jp-InputPrompt, .readaid-page .jp-OutputPrompt,
  .readaid-page .jp-OutputArea-promptOverlay, .readaid-page .jp-Notebook-footer, .readaid-page.jp-NotebookPanel > .jp-NotebookPanel-toolbar { display: none !important; }
  .readaid-page .jp-CodeCell .jp-Cell-inputWrapper { display: none !important; }
  .readaid-page .jp-Cell { padding-left: 18px; padding-right: 18px; }
  .readaid-page .jp-Notebook .jp-Cell, .readaid-page .jp-Notebook .jp-Cell::before, .readaid-page .jp-Notebook .jp-Cell::after { outline: none !important; box-shadow: none !important; border-color: transparent !important; background: none !important; }
  .readaid-page .jp-Notebook { --jp-content-font-size1: 16px; }
  .readaid-page .jp-RenderedMarkdown { max-width: 76em; }
  .readaid-page .jp-MarkdownCell:has(button[data-commandlinker-command]) { display: none; }
  .readaid-page .jp-RenderedMarkdown blockquote { background: #fdf3dd; color: #22262b; border-left: 4px solid #d98200; padding: 8px 14px; margin-left: 0; border-radius: 0 7px 7px 0; }
  body.readaid-page-open .jp-SideBar, body.readaid-page-open #jp-left-stack, body.readaid-page-open #jp-right-stack, body.readaid-page-open #jp-bottom-panel { display: none !important; }`;

  /** @typedef {any} NotebookPanel the host's own panel of a notebook */
  /** @typedef {any} Host the host's application */

  /** Every cell's code was signed here. @param {NotebookPanel} panel */
  const trusted = (panel) => {
    const codes = [...panel.content.widgets].filter((c) => c.model.type === "code");
    return codes.length > 0 && codes.every((c) => c.model.trusted);
  };
  /** Which page a notebook is, undefined where it is none of ours. @param {NotebookPanel} panel @returns {string|undefined} */
  const page = (panel) => panel?.context?.model?.getMetadata?.("readaid")?.page;
  /** The tool bar says "idle" while there is no kernel at all; cells run then are lost. Ask the session itself.
   * @param {NotebookPanel} panel @returns {Promise<boolean>} */
  const ready = async (panel) => {
    await panel.sessionContext.ready;
    for (let i = 0; i < 1500; i++) {
      const kernel = panel.sessionContext.session?.kernel;
      if (kernel?.status === "idle" && kernel.connectionStatus === "connected") return true;
      if (panel.isDisposed) return false;
      await new Promise((r) => setTimeout(r, 20));
    }
    return false;
  };
  const dressing = () => {
    const style = document.createElement("style");
    style.textContent = STYLE;
    document.head.append(style);
  };
  /** Letters pressed anywhere in an output must not reach the notebook's own single-letter commands.
   * @param {KeyboardEvent} e */
  const guard = (e) => {
    if (!(/** @type {Element} */ (e.target).closest(".jp-OutputArea"))) return;
    if ((e.ctrlKey || e.metaKey) && !e.shiftKey && "sf".includes(e.key.toLowerCase())) return;
    e.stopPropagation();
  };
  /** @param {Host} app */
  const dress = (app) => {
    const now = app.shell.currentWidget;
    document.body.classList.toggle("readaid-page-open", Boolean(now?.node?.classList.contains("readaid-page")));
  };
  /** @param {Host} app @param {NotebookPanel} panel */
  const run = async (app, panel) => {
    app.shell.activateById(panel.id);
    panel.node.dataset.readaidRun = "started";
    await app.commands.execute("notebook:run-all-cells");
    panel.content.mode = "command";
    panel.node.dataset.readaidRun = "done";
  };
  /** After a restart the panels still look alive, and what is drawn on them would go nowhere: start the page again.
   * @param {Host} app @param {NotebookPanel} panel */
  const again = (app, panel) => {
    let down = false,
      last = Date.now();
    panel.sessionContext.statusChanged.connect((/** @type {any} */ _, /** @type {string} */ status) => {
      if (status === "restarting" || status === "autorestarting") down = true;
      else if (down && status === "idle" && !panel.isDisposed && Date.now() - last > 5000) {
        down = false;
        last = Date.now();
        run(app, panel);
      }
    });
  };
  const seen = new WeakSet();
  /** A notebook is in sight: ours are shown as pages and run. @param {Host} app @param {NotebookPanel} panel */
  const visit = async (app, panel) => {
    if (!panel || seen.has(panel) || !panel.context || !panel.sessionContext || !panel.content?.widgets) return;
    seen.add(panel);
    await panel.context.ready;
    if (!page(panel) || !trusted(panel)) return;
    panel.node.classList.add("readaid-page");
    panel.node.dataset.readaidPage = page(panel);
    dress(app);
    panel.node.addEventListener("keydown", guard);
    if (!(await ready(panel))) return;
    await run(app, panel);
    again(app, panel);
  };

  const plugin = {
    id: "readaid-page:plugin",
    autoStart: true,
    description: "Shows readaid notebooks as pages",
    /** @param {Host} app */
    activate: (app) => {
      dressing();
      app.restored.then(() => {
        visit(app, app.shell.currentWidget);
        app.shell.currentChanged?.connect((/** @type {any} */ _, /** @type {any} */ change) => {
          dress(app);
          visit(app, change.newValue);
        });
      });
    },
  };
  /** @type {Record<string, () => object>} */
  const modules = { "./extension": () => ({ __esModule: true, default: plugin }) };
  const host = /** @type {any} */ (window);
  (host._JUPYTERLAB ??= {})["readaid-page"] = {
    init: () => {},
    get: (/** @type {string} */ name) => Promise.resolve(modules[name]),
  };
})();
