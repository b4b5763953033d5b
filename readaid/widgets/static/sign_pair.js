// The cut of a sign and a reference form at equal size; a proposal that is pointed at lies over the cut.
import { h, ja, refill } from "./kit.js";
import { t } from "./texts.js";

/** The cut with a form laid over it while a proposal is pointed at; beside it that form, or the one of what was entered. */
export class Pair {
  /** @param {import("./character_panel.js").Sign} p */
  constructor(p) {
    this.p = p;
    this.url = "";
    this.cut = h("img", { alt: t`The chosen sign on the photograph`, draggable: "false", onload: () => this.place() });
    this.over = h("img", { alt: "", class: "cp-over", hidden: true, draggable: "false" });
    this.form = h("div", { class: "cp-form", role: "img", "aria-label": t`Reference form` });
    this.box = h("div", { class: "cp-pairbox" }, h("div", { class: "cp-crop" }, this.cut, this.over), this.form);
  }
  /** A new crop. @param {DataView<ArrayBuffer>|undefined} bytes */
  show(bytes) {
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = bytes?.byteLength ? URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) : "";
    if (this.url) this.cut.src = this.url;
    else this.cut.removeAttribute("src");
  }
  /** The form lies where the zone lies inside its crop. */
  place() {
    const { naturalWidth: w, naturalHeight: hh } = this.cut,
      box = this.cut.parentElement;
    if (!w || !box) return;
    const side = Math.min(box.clientWidth / w, box.clientHeight / hh) / (1 + 2 * (this.p.st.margin ?? 0.25));
    Object.assign(this.over.style, {
      width: `${w * side}px`,
      height: `${hh * side}px`,
      left: `${(box.clientWidth - w * side) / 2}px`,
      top: `${(box.clientHeight - hh * side) / 2}px`,
    });
  }
  /** A proposal is pointed at, or none. @param {[string,string]|null} picture @param {string} [sign] */
  point(picture, sign = "") {
    this.over.hidden = !picture;
    if (picture) {
      this.over.src = picture[0];
      this.place();
    }
    this.rest(picture, sign);
  }
  /** The form beside the cut. @param {[string,string]|null} [picture] @param {string} [sign] */
  rest(picture = null, sign = "") {
    const best = this.p.st.candidates?.[0],
      shown = picture ?? best?.picture ?? null,
      word = sign || best?.character || "";
    const img = shown ? h("img", { alt: shown[1], draggable: "false", src: shown[0] }) : null;
    refill(
      this.form,
      img ?? (word ? ja(word, "ra-ja cp-drawn") : h("span", { class: "cp-nothing", text: "·" })),
      h("small", { text: shown ? shown[1] : word ? t`as printed` : "" }),
    );
    this.form.setAttribute("aria-label", shown ? t`Reference form: ${shown[1]}` : t`No reference form`);
  }
}
