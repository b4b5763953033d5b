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

  const trusted = (panel) => {
    const codes = [...panel.content.widgets].filter((c) => c.model.type === "code");
    return codes.length > 0 && codes.every((c) => c.model.trusted);
  };
  const page = (panel) => panel?.context?.model?.getMetadata?.("readaid")?.page;
  const ready = async (panel) => {
    await panel.sessionContext.ready;
    // The tool bar says "idle" while there is no kernel at all; cells run then are lost. Ask the session itself.
    for (let i = 0; i < 600; i++) {
      const kernel = panel.sessionContext.session?.kernel;
      if (kernel?.status === "idle" && kernel.connectionStatus === "connected") return true;
      if (panel.isDisposed) return false;
      await new Promise((r) => setTimeout(r, 50));
    }
    return false;
  };

  const plugin = {
    id: "readaid-page:plugin", autoStart: true, description: "Shows readaid notebooks as pages",
    activate: (app) => {
      const seen = new WeakSet();
      const style = document.createElement("style");
      style.textContent = STYLE;
      document.head.append(style);
      const dress = () => {
        const now = app.shell.currentWidget;
        document.body.classList.toggle("readaid-page-open", Boolean(now?.node?.classList.contains("readaid-page")));
      };
      const visit = async (panel) => {
        if (!panel || seen.has(panel) || !panel.context || !panel.sessionContext || !panel.content?.widgets) return;
        seen.add(panel);
        await panel.context.ready;
        if (!page(panel) || !trusted(panel)) return;
        panel.node.classList.add("readaid-page");
        panel.node.dataset.readaidPage = page(panel);
        dress();
        // Letters pressed anywhere in an output must not reach the notebook's own single-letter commands.
        panel.node.addEventListener("keydown", (e) => {
          if (!e.target.closest(".jp-OutputArea")) return;
          if ((e.ctrlKey || e.metaKey) && !e.shiftKey && "sf".includes(e.key.toLowerCase())) return;
          e.stopPropagation();
        });
        if (!(await ready(panel))) return;
        const run = async () => {
          app.shell.activateById(panel.id);
          panel.node.dataset.readaidRun = "started";
          await app.commands.execute("notebook:run-all-cells");
          panel.content.mode = "command";
          panel.node.dataset.readaidRun = "done";
        };
        await run();
        // After a restart the panels still look alive, and what is drawn on them would go nowhere: start the page again.
        let down = false, last = Date.now();
        panel.sessionContext.statusChanged.connect((_, status) => {
          if (status === "restarting" || status === "autorestarting") down = true;
          else if (down && status === "idle" && !panel.isDisposed && Date.now() - last > 5000) { down = false; last = Date.now(); run(); }
        });
      };
      app.restored.then(() => {
        visit(app.shell.currentWidget);
        app.shell.currentChanged?.connect((_, change) => { dress(); visit(change.newValue); });
      });
    },
  };
  const modules = { "./extension": () => ({ __esModule: true, default: plugin }) };
  (window._JUPYTERLAB = window._JUPYTERLAB || {})["readaid-page"] = { init: () => {}, get: (name) => Promise.resolve(modules[name]) };
})();
