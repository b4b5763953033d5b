// A second reader: the copy that goes out, the copy that comes back, how far readers agree; checks and the archive.
import { button, h, refill, table } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";
import { Upload } from "./upload.js";
import { workBar } from "./work_bar.js";

/** The panel of a second reader, of checks and the archive. */
export class Sharing {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    this.signal = given.signal;
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").SharingPanelAsks, import("./register_states.js").SharingPanelState>} */
    const made = panel(given, "hp", t`Second reader, checks, archive`);
    this.fold = new Fold(made, "hp", "report");
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.on = made.on;
    this.st = /** @type {import("./register_states.js").SharingPanelState} */ ({});
    this.urls = /** @type {string[]} */ ([]);
    this.files = /** @type {Record<string, HTMLElement>} */ ({
      out: h("div", { class: "hp-files" }),
      check: h("div", { class: "hp-files" }),
    });
    this.upload = new Upload(t`Reader's copy to take back in`, { accept: ".zip" }, ({ id, name, at, of }, buffers) =>
      this.ask("receive", { id, name, at, of }, buffers),
    );
    this.out = h("div", { class: "ra-group" });
    this.back = h("div", {});
    this.agree = h("div", {});
    this.check = h("div", {});
    this.choose = h("div", { class: "ra-group" });
    this.backCard = this.card(t`Take a copy back in`, this.choose, this.back);
    this.lay();
    this.signal.addEventListener("abort", () => this.urls.forEach((u) => URL.revokeObjectURL(u)));
    this.on("file", (m, buffers) => this.written(m, buffers));
    this.show((now) => {
      if (!now?.ready) return;
      this.st = now;
      this.fold.holds(now.busy?.label || t`Copies, agreement, checks, archive`);
      this.paintOut();
      this.paintBack();
      this.paintAgree();
      this.paintCheck();
    });
  }
  card(/** @type {string} */ title, /** @type {import("./kit.js").Kid[]} */ ...kids) {
    return h("div", { class: "hp-card", role: "group", "aria-label": title }, h("h3", { text: title }), ...kids);
  }
  /** The cards. */
  lay() {
    this.body.append(
      h(
        "div",
        { class: "hp-cards" },
        this.card(
          t`Give it to a second reader`,
          h("p", {
            class: "ra-hint",
            text: t`The blind copy shows photographs, zones and their order and nothing that anybody wrote, so that the second reader sees with their own eyes; the full copy shows the rest, too. The worksheet is for a reader without a computer. Place, owner and provenance are left out of all three.`,
          }),
          this.out,
          this.files.out,
        ),
        this.backCard,
        this.card(t`How far readers agree`, this.agree),
        this.card(t`Checks and archive`, this.check, this.files.check),
      ),
    );
  }
  /** Something was written: it can be saved. @param {import("./messages.js").Told["file"]} m @param {DataView<ArrayBuffer>[]} buffers */
  written(m, buffers) {
    let link = null;
    if (buffers?.[0]?.byteLength) {
      const url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
      this.urls.push(url);
      link = h("a", {
        class: "ra-button ra-small hp-save",
        download: m.name,
        text: t`Save as …`,
        "aria-label": t`Save ${m.name}`,
      });
      link.href = url;
    }
    const what = m.what ?? m.name,
      row = h(
        "div",
        { class: "hp-file", "data-what": what },
        h("div", {}, h("b", { text: what }), ` ${m.size}`, h("br"), h("small", { title: m.path, text: m.shown })),
        link,
      );
    const box = this.files[m.where ?? "out"] ?? this.files.out;
    box.querySelector(`[data-what="${CSS.escape(what)}"]`)?.remove(); // written again: the newer one stands
    box.prepend(row);
    this.root.dataset.written = m.name;
  }
  /** A copy that goes out. @param {string} word @param {boolean} blind */
  copy(word, blind) {
    return button(word, () => this.ask("copy", { blind }), {
      disabled: Boolean(this.st.busy),
      "data-key": `copy-{"blind":${blind}}`,
      class: blind ? "ra-button ra-main" : "ra-button",
    });
  }
  /** A button that asks for something. @param {string} word
   * @param {"worksheet"|"agreement"|"calibration"|"check"|"archive"} what */
  go(word, what) {
    return button(word, () => this.ask(what), { disabled: Boolean(this.st.busy), "data-key": `${what}-{}` });
  }
  /** What is under way at one of the cards. @param {string} where */
  busy(where) {
    return this.st.busy && this.st.where === where
      ? h("span", { class: "ra-group hp-busy" }, ...workBar(this.st.busy, () => this.stop()))
      : null;
  }
  stop() {
    this.upload.stop();
    this.ask("stop");
  }
  paintOut() {
    refill(
      this.out,
      this.copy(t`Blind copy`, true),
      this.copy(t`Full copy`, false),
      this.go(t`Worksheet to print`, "worksheet"),
      this.busy("out"),
    );
  }
  paintBack() {
    refill(
      this.choose,
      button(t`Choose the copy …`, () => this.upload.choose(), {
        "data-key": "take",
        disabled: Boolean(this.st.busy) || this.st.locked,
      }),
      this.upload.input,
      this.busy("back"),
    );
    this.backCard.classList.toggle("hp-wide", Boolean(this.st.merged?.conflicts.length));
    refill(
      this.back,
      this.st.merged
        ? [
            h("p", { text: this.st.merged.words }),
            this.st.merged.conflicts.length
              ? h(
                  "div",
                  { class: "hp-table" },
                  table([t`Where`, t`What`, t`Before`, t`Ours (stands)`, t`Theirs`], this.st.merged.conflicts),
                )
              : null,
            this.st.merged.notices.map((/** @type {string} */ n) => h("p", { class: "ra-caution", text: n })),
          ]
        : h("p", {
            class: "ra-hint",
            text: this.st.locked
              ? t`This piece is open for reading only; nothing can be taken in.`
              : t`Nothing is lost by it: where both changed the same thing, yours stands and both are listed.`,
          }),
    );
  }
  paintAgree() {
    refill(
      this.agree,
      h(
        "div",
        { class: "ra-group" },
        this.go(t`Compare the readers`, "agreement"),
        this.go(t`How sure were they rightly?`, "calibration"),
        this.busy("agree"),
      ),
      this.st.agreement.map((/** @type {string} */ w) => h("p", { text: w })),
      this.st.calibration?.length
        ? h(
            "div",
            { class: "hp-table" },
            table([t`Reader`, t`Signs settled`, t`Brier score (0 is best)`, t`In words`], this.st.calibration),
          )
        : this.st.calibration
          ? h("p", {
              text: t`How sure they were rightly: no sign is settled yet. Mark an attempt as settled in the register first.`,
            })
          : null,
      this.st.agreement.length || this.st.calibration
        ? null
        : h("p", {
            class: "ra-hint",
            text: t`Needs a copy that came back. With two readers, few signs and many letters the figures are rough.`,
          }),
    );
  }
  paintCheck() {
    refill(
      this.check,
      h(
        "div",
        { class: "ra-group" },
        this.go(t`Check register and photographs`, "check"),
        this.go(t`Make an archive (BagIt)`, "archive"),
        this.busy("check"),
      ),
      this.st.checked === null
        ? h("p", {
            class: "ra-hint",
            text: t`The check reads every revision and every photograph. The archive holds the whole piece folder, place and owner too: it is for keeping, not for giving away.`,
          })
        : this.st.checked.length
          ? this.st.checked.map((/** @type {string} */ c) => h("p", { class: "ra-caution", text: c }))
          : h("p", { class: "hp-good", text: t`All is as it was: every revision and every photograph.` }),
    );
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Sharing(given);
}

export default { render: inLanguage(render) };
