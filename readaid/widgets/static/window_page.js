// The bench alone in the window: the still picture until the bench is painted, the kernel asked once, and a sentence
// when the program behind the page is away or starts again.
import { Kernel } from "./window_kernel.js";
import { Widgets } from "./window_widgets.js";

/** @typedef {{base: string, kernel: string, code: string, clear: string, words: Record<string, string>}} Given */
const given = /** @type {Given} */ (JSON.parse(document.getElementById("readaid-given")?.textContent ?? "{}"));
const main = /** @type {HTMLElement} */ (document.querySelector("main"));
const cover = /** @type {HTMLElement} */ (document.getElementById("readaid-still"));
const notice = /** @type {HTMLElement} */ (document.getElementById("readaid-notice"));
/** After this time the page says that it is still at work. */
const PATIENCE = 25000;
/** Until then a page that this one came after has let go of its socket, and the first pictures are painted. */
const SETTLED = 1500;

/** @param {string} words */
const tell = (words) => {
  if (notice.textContent !== words) notice.textContent = words;
};

/** @param {string} words where the sheet will be */
const calm = (words) => {
  const told = cover.querySelector("p");
  if (told) told.textContent = words;
};
let late = /** @type {ReturnType<typeof setTimeout>|undefined} */ (undefined);

/** The still picture goes when the bench has painted its own, and so does what was told until then. */
function uncover() {
  const seen = new MutationObserver(() => {
    if (!document.querySelector(".ra-bench .pb[data-painted='1']")) return;
    seen.disconnect();
    clearTimeout(late);
    cover.hidden = true;
    tell("");
  });
  seen.observe(main, { subtree: true, attributes: true, childList: true, attributeFilter: ["data-painted"] });
}

/** The widgets of this page; made anew when the kernel starts again. @type {Widgets} */
let widgets;
/** @type {{end: () => void}|null} */
let shown = null;
/** Id of the widget that is shown. */
let root = "";

/** Ask the kernel for the bench and lay it. */
async function lay() {
  shown?.end();
  shown = null;
  main.dataset.readaidRun = "started";
  let failure = "";
  widgets = new Widgets(kernel);
  const reply = await kernel.run(given.code, (m) => {
    const id = m.content.data?.["application/vnd.jupyter.widget-view+json"]?.model_id;
    if (id && !shown) {
      root = id;
      const view = widgets.view(id);
      shown = view;
      main.append(view.el);
    }
    if (m.header.msg_type === "error") failure = m.content.evalue ?? "";
  });
  if (reply.status !== "ok" || !shown) {
    clearTimeout(late);
    cover.classList.add("readaid-failed");
    calm(`${given.words.failed} ${failure || reply.evalue || ""}`);
    cover.hidden = false;
  }
  if (!main.querySelector(".ra-bench") && shown) cover.hidden = true; // something else than the bench paints nothing
  main.dataset.readaidRun = "done";
  setTimeout(clearAway, SETTLED);
}

/** The benches of pages that are gone are cleared away: this page's reader has another now, or has closed the window. */
async function clearAway() {
  const told = await fetch(`${given.base}readaid/standing?kernel=${given.kernel}`).catch(() => null);
  if (told?.ok) kernel.run(`${given.clear}(${await told.text()})`);
}

/** A page that was away for long may have been taken for gone. */
async function back() {
  if (!shown) return;
  const { comms } = await kernel.ask("comm_info_request", { target_name: "jupyter.widget" });
  if (shown && comms && !(root in comms)) lay();
}

let starts = 0;
/** The bench is laid anew when the kernel that starts again answers; until it is painted the sentence stands. */
async function anew() {
  const mine = ++starts;
  tell(given.words.again);
  await kernel.awake();
  if (mine !== starts) return;
  lay();
  uncover();
}

const address = new URL(`${given.base}api/kernels/${given.kernel}/channels`, location.href);
address.protocol = address.protocol.replace("http", "ws");
const kernel = new Kernel(
  address.href,
  (message) => {
    const state = message.header.msg_type === "status" ? message.content.execution_state : "";
    if (state === "restarting" || state === "autorestarting") anew();
    else if (state === "dead") tell(given.words.away);
    else {
      widgets.take(message);
      if (shown && message.header.msg_type === "comm_close" && message.content.comm_id === root) lay();
    }
  },
  (near) => {
    tell(near ? "" : given.words.away);
    if (near) back();
  },
);
Object.assign(main, { kernel });
late = setTimeout(() => calm(given.words.slow), PATIENCE);
uncover();
lay();

// All is saved at every step: the browser's own "save page" would only puzzle.
document.addEventListener("keydown", (e) => {
  if ((e.ctrlKey || e.metaKey) && !e.shiftKey && !e.altKey && e.key.toLowerCase() === "s") e.preventDefault();
});
