// The picture of two forms: in two colours, behind a line, blinking, side by side.

import { t } from "./texts.js";

/** The picture of two forms. */
export class Picture {
  /** @param {import("./compare_panel.js").Compare} compare */
  constructor(compare) {
    this.compare = compare;
  }
  /** Lay out the canvas in screen pixels, white. @param {number} wide @param {number} high */
  paper(wide, high) {
    const { canvas } = this.compare,
      d = window.devicePixelRatio || 1,
      ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    canvas.width = wide * d;
    canvas.height = high * d;
    canvas.style.width = `${wide}px`;
    canvas.style.height = `${high}px`;
    ctx.setTransform(d, 0, 0, d, 0, 0);
    ctx.fillStyle = "#fff";
    ctx.fillRect(0, 0, wide, high);
    return ctx;
  }
  draw() {
    const { a, b, overlay, st, canvas, look, root } = this.compare;
    canvas.hidden = !a || !b || !st.result;
    if (!a || !b || !st.result) return;
    const room = canvas.parentElement?.clientWidth ?? root.clientWidth - 40, // beside what is told of them
      wide = Math.min(560, room - 2),
      k = Math.min(wide / a.width, 460 / a.height);
    const shown = /** @type {Record<string, string>} */ ({
      colours: t`Two colours`,
      wipe: t`Slider`,
      blink: t`Blink`,
      beside: t`Side by side`,
    });
    canvas.setAttribute("aria-label", t`${st.result.alt} Shown: ${shown[look] ?? look}.`);
    if (look === "colours" && overlay) {
      const high = (wide * overlay.height) / overlay.width;
      this.paper(wide, high).drawImage(overlay, 0, 0, wide, high);
    } else if (look === "beside") this.beside(a, b, k);
    else this.over(a, b, k, st.result);
  }
  /** Both beside each other, equally high. @param {ImageBitmap} a @param {ImageBitmap} b @param {number} k */
  beside(a, b, k) {
    const w = a.width * k,
      high = a.height * k,
      wb = (b.width * high) / b.height,
      ctx = this.paper(w + wb + 12, high);
    ctx.drawImage(a, 0, 0, w, high);
    ctx.drawImage(b, w + 12, 0, wb, high);
  }
  /** The second over the first: up to a line, or for a blink; rings where they differ.
   * @param {ImageBitmap} a @param {ImageBitmap} b @param {number} k screen pixels of one of the first form
   * @param {import("./school_states.js").ComparedForms} result */
  over(a, b, k, result) {
    const { look, wipe, second, rings } = this.compare,
      m = result.transform,
      w = a.width * k,
      high = a.height * k,
      ctx = this.paper(w, high);
    ctx.drawImage(a, 0, 0, w, high);
    if (look === "wipe" || second) {
      ctx.save();
      ctx.beginPath();
      ctx.rect(0, 0, look === "wipe" ? w * wipe : w, high);
      ctx.clip();
      ctx.transform(k, 0, 0, k, 0, 0);
      ctx.transform(m[0], m[3], m[1], m[4], m[2], m[5]);
      ctx.drawImage(b, 0, 0);
      ctx.restore();
    }
    ctx.fillStyle = "#d98200";
    if (look === "wipe") ctx.fillRect(w * wipe - 1.5, 0, 3, high);
    ctx.strokeStyle = "#cc79a7";
    ctx.lineWidth = 3;
    for (const r of rings ? result.differences : [])
      ctx.strokeRect(r[0] * k - 5, r[1] * k - 5, r[2] * k + 10, r[3] * k + 10);
  }
}
