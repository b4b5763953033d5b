// Brightness and midtones on the screen, kept for each photograph; a dark one is lifted, and that is told.
import { clamp } from "./geometry.js";
import { t } from "./texts.js";

const DARK = 62,
  LIFTED = 104; // a photograph whose middle grey lies under the first is lifted to the second, for the screen only

/** Brightness and midtones on the screen, kept for each photograph. */
export class Tone {
  /** @param {import("./mat_light.js").Light} light */
  constructor(light) {
    this.light = light;
    this.m = light.m;
    this.kept = /** @type {Record<string, {bright:number, gamma:number, lifted:boolean}>} */ ({});
  }

  // --- tone -------------------------------------------------------------------------------------
  /** What holds for the photograph on the mat. */
  now() {
    return this.kept[this.m.st.photo] ?? { bright: 1, gamma: 1, lifted: false };
  }
  /** @param {Partial<{bright:number, gamma:number, lifted:boolean}>} change */
  set(change) {
    this.kept[this.m.st.photo] = { ...this.now(), ...change };
    this.lay();
  }
  /** Lay them on the canvas. */
  lay() {
    const { bright, gamma } = this.now();
    for (const f of this.m.curve.querySelectorAll("[data-gamma]")) f.setAttribute("exponent", String(1 / gamma));
    this.m.canvas.style.filter =
      bright === 1 && gamma === 1
        ? ""
        : `${gamma === 1 ? "" : `url(#${this.m.curve.querySelector("filter")?.id}) `}brightness(${bright})`;
  }
  /** A photograph seen for the first time: a dark one is lifted for the screen, and that is told. @param {ImageBitmap} b */
  look(b) {
    const id = this.m.st.photo;
    if (!id || this.kept[id]) return;
    const c = document.createElement("canvas"),
      ctx = /** @type {CanvasRenderingContext2D} */ (c.getContext("2d", { willReadFrequently: true }));
    c.width = c.height = 64;
    ctx.drawImage(b, 0, 0, 64, 64);
    const px = ctx.getImageData(0, 0, 64, 64).data,
      grey = [];
    for (let i = 0; i < px.length; i += 4) grey.push(0.299 * px[i] + 0.587 * px[i + 1] + 0.114 * px[i + 2]);
    const middle = clamp(grey.sort((x, y) => x - y)[(grey.length * 0.6) | 0], 1, 254);
    const dark = middle < DARK && !this.m.st.swap;
    this.kept[id] = {
      bright: 1,
      gamma: dark ? clamp(Math.log(middle / 255) / Math.log(LIFTED / 255), 1, 2.4) : 1,
      lifted: dark,
    };
    if (dark) {
      this.m.say(t`The photograph is dark: it is lifted on the screen. The file is as it was.`, "quiet");
      this.light.strips.paintStrip();
    }
    this.lay();
  }
}
