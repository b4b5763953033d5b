// A hand-written container: JupyterLab asks for init() and get() only, so no bundler is needed.
// It shows our own notebooks as pages and runs them when opened, if - and only if - the notebook is trusted and its own
// metadata say {"readaid": {"page": ...}}. Everything works without it, too: then the reader runs the cells from the menu.
// Who came by `readaid open` gets the bench alone in the window: that server says so in the page's own configuration
// ("readaidDesk"), and lends a small picture of the piece ("readaidStill"), shown until the bench is there.
(() => {
  const config = JSON.parse(document.getElementById("jupyter-config-data")?.textContent || "{}");
  const desk = Boolean(config.readaidDesk) && /\/doc\/tree\/.*\.ipynb$/.test(location.pathname);
  const calm = (words) => {
    const told = document.getElementById("readaid-still-words");
    if (told) told.textContent = words;
  };
  const still = () => {
    // the piece itself within a second or two, at the place where the bench will lay it
    document.body.classList.add("readaid-desk");
    const cover = document.createElement("div"),
      picture = document.createElement("div"),
      words = document.createElement("p");
    cover.id = "readaid-still";
    cover.setAttribute("role", "status");
    words.id = "readaid-still-words";
    words.textContent = "Laying the piece on the bench …";
    if (/^data:image\/jpeg;base64,[\w+/=]+$/.test(config.readaidStill || ""))
      picture.style.backgroundImage = `url(${config.readaidStill})`;
    cover.append(picture, words);
    document.body.append(cover);
    const seen = new MutationObserver(() => {
      if (!document.querySelector(".ra-bench .pb[data-painted='1']")) return;
      seen.disconnect();
      cover.remove();
    });
    seen.observe(document.body, { subtree: true, attributes: true, attributeFilter: ["data-painted"] });
    setTimeout(
      () => calm("Still laying the piece on the bench. If nothing comes, load the page again; nothing saved is lost."),
      25000,
    );
    window.addEventListener("beforeunload", (e) => e.stopImmediatePropagation(), true); // all is saved: nothing to ask
  };
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
  #readaid-still { position: fixed; inset: 0; z-index: 2000; background: #ece7db; color: #675f52; font: italic 15px Georgia, serif; }
  #readaid-still > div { position: absolute; left: 0; top: 40px; bottom: 84px; right: clamp(400px, 33.4vw, 560px); background: #4b4b4a center / contain no-repeat; }
  #readaid-still > p { position: absolute; right: 0; width: clamp(400px, 33.4vw, 560px); top: 44%; text-align: center; margin: 0; }
  @media (max-width: 1100px) { #readaid-still > div { right: clamp(360px, 39vw, 420px); } #readaid-still > p { width: clamp(360px, 39vw, 420px); } }
  @media (min-width: 1400px) and (min-height: 840px) { #readaid-still > div { bottom: 104px; } }
  body.readaid-desk { overflow: hidden !important; height: 100vh !important; }
  body.readaid-desk .readaid-through { contain: none !important; transform: none !important; overflow: visible !important; will-change: auto !important; filter: none !important; z-index: auto !important; }
  body.readaid-desk :is(.Toastify, .jp-Dialog.jp-mod-kernel) { display: none !important; }
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
    id: "readaid-page:plugin",
    autoStart: true,
    description: "Shows readaid notebooks as pages",
    activate: (app) => {
      const seen = new WeakSet();
      const style = document.createElement("style");
      style.textContent = STYLE;
      document.head.append(style);
      if (desk) {
        // the bench lies over all that is the notebook's: nothing between may hold it in
        const free = () => {
          for (
            let e = document.querySelector(".ra-bench")?.parentElement;
            e && e !== document.body;
            e = e.parentElement
          )
            e.classList.add("readaid-through");
        };
        new MutationObserver(free).observe(document.body, { childList: true, subtree: true });
      }
      const dress = () => {
        const now = app.shell.currentWidget;
        document.body.classList.toggle("readaid-page-open", Boolean(now?.node?.classList.contains("readaid-page")));
      };
      const visit = async (panel) => {
        if (!panel || seen.has(panel) || !panel.context || !panel.sessionContext || !panel.content?.widgets) return;
        seen.add(panel);
        await panel.context.ready;
        if (!page(panel) || !trusted(panel)) {
          if (desk) {
            document.getElementById("readaid-still")?.remove();
            document.body.classList.remove("readaid-desk");
          } // a notebook that is not ours is shown as what it is
          return;
        }
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
        let down = false,
          last = Date.now();
        panel.sessionContext.statusChanged.connect((_, status) => {
          if (status === "restarting" || status === "autorestarting") down = true;
          else if (down && status === "idle" && !panel.isDisposed && Date.now() - last > 5000) {
            down = false;
            last = Date.now();
            run();
          }
        });
      };
      app.restored.then(() => {
        visit(app.shell.currentWidget);
        app.shell.currentChanged?.connect((_, change) => {
          dress();
          visit(change.newValue);
        });
      });
    },
  };
  if (desk) {
    const dressed = document.createElement("style");
    dressed.textContent = STYLE;
    document.head.append(dressed);
    still();
  }
  const modules = { "./extension": () => ({ __esModule: true, default: plugin }) };
  (window._JUPYTERLAB = window._JUPYTERLAB || {})["readaid-page"] = {
    init: () => {},
    get: (name) => Promise.resolve(modules[name]),
  };
})();
