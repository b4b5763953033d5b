// Pure geometry of the mat: quarter turns, boxes, lines of points. Pixels unless said; [x, y] points.

/** @typedef {import("./board_states.js").Box} Box */

export const clamp = (/** @type {number} */ v, /** @type {number} */ a, /** @type {number} */ b) =>
  Math.min(b, Math.max(a, v));

/** A point of a picture W x H after `turn` quarters clockwise. @param {number[]} p @param {number} turn @param {number} W @param {number} H @returns {[number,number]} */
export const turned = ([x, y], turn, W, H) =>
  /** @type {[number,number][]} */ ([
    [x, y],
    [H - y, x],
    [W - x, H - y],
    [y, W - x],
  ])[turn];

/** The way back. @param {number[]} p @param {number} turn @param {number} W @param {number} H @returns {[number,number]} */
export const unturned = ([x, y], turn, W, H) =>
  /** @type {[number,number][]} */ ([
    [x, y],
    [y, H - x],
    [W - x, H - y],
    [W - y, x],
  ])[turn];

/** A point through a matrix a, b, c, d, e, f. @param {number[]} t @param {number[]} p @returns {[number,number]} */
export const through = (t, [x, y]) => [t[0] * x + t[2] * y + t[4], t[1] * x + t[3] * y + t[5]];

/** The box of whole pixels between two corners, inside a picture. @param {number[]} a @param {number[]} b @param {number} W @param {number} H */
export function boxBetween(a, b, W, H) {
  const x0 = clamp(Math.round(Math.min(a[0], b[0])), 0, W),
    y0 = clamp(Math.round(Math.min(a[1], b[1])), 0, H);
  return {
    x: x0,
    y: y0,
    w: clamp(Math.round(Math.max(a[0], b[0])), 0, W) - x0,
    h: clamp(Math.round(Math.max(a[1], b[1])), 0, H) - y0,
  };
}

/** A box with a corner or side (some of n, e, s, w) drawn to a point. @param {Box} b @param {string} c @param {number[]} p @param {number} W @param {number} H */
export function reshaped(b, c, p, W, H) {
  const x = [b.x, b.x + b.w],
    y = [b.y, b.y + b.h];
  if (c.includes("w")) x[0] = p[0];
  if (c.includes("e")) x[1] = p[0];
  if (c.includes("n")) y[0] = p[1];
  if (c.includes("s")) y[1] = p[1];
  return boxBetween([x[0], y[0]], [x[1], y[1]], W, H);
}

/** A box moved, kept inside. @param {Box} b @param {number} dx @param {number} dy @param {number} W @param {number} H */
export const movedBox = (b, dx, dy, W, H) => ({
  ...b,
  x: clamp(Math.round(b.x + dx), 0, W - b.w),
  y: clamp(Math.round(b.y + dy), 0, H - b.h),
});

/** Whether a point lies inside a closed line of points. @param {number[]} p @param {number[][]} line */
export function within([x, y], line) {
  let inside = false;
  for (let i = 0, j = line.length - 1; i < line.length; j = i++) {
    const [xi, yi] = line[i],
      [xj, yj] = line[j];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

/** A line beside a line of points, `by` pixels to its right (down the picture: to the left of the hand that goes along).
 * @param {[number,number][]} points @param {number} by @returns {[number,number][]} */
export const beside = (points, by) =>
  points.map((p, i) => {
    const a = points[Math.max(0, i - 1)],
      b = points[Math.min(points.length - 1, i + 1)],
      n = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return /** @type {[number,number]} */ ([p[0] + ((b[1] - a[1]) / n) * by, p[1] - ((b[0] - a[0]) / n) * by]);
  });

/** Contrast raised where it is low: each grey against the mean and spread of its surroundings (an integral image).
 * @param {Uint8ClampedArray} px RGBA, changed in place @param {number} w @param {number} h @param {number} r half side of the surroundings */
export function localContrast(px, w, h, r = 16) {
  const n = (w + 1) * (h + 1),
    sum = new Float64Array(n),
    square = new Float64Array(n),
    grey = new Float32Array(w * h);
  for (let y = 0, i = 0; y < h; y++)
    for (let x = 0, s = 0, q = 0; x < w; x++, i++) {
      const v = (grey[i] = 0.299 * px[4 * i] + 0.587 * px[4 * i + 1] + 0.114 * px[4 * i + 2]),
        at = (y + 1) * (w + 1) + x + 1;
      s += v;
      q += v * v;
      sum[at] = sum[at - w - 1] + s;
      square[at] = square[at - w - 1] + q;
    }
  for (let y = 0, i = 0; y < h; y++)
    for (let x = 0; x < w; x++, i++) {
      const x0 = Math.max(0, x - r),
        x1 = Math.min(w, x + r + 1),
        y0 = Math.max(0, y - r),
        y1 = Math.min(h, y + r + 1),
        area = (x1 - x0) * (y1 - y0);
      const over = (/** @type {Float64Array} */ t) =>
        (t[y1 * (w + 1) + x1] - t[y0 * (w + 1) + x1] - t[y1 * (w + 1) + x0] + t[y0 * (w + 1) + x0]) / area;
      const mean = over(sum),
        spread = Math.sqrt(Math.max(0, over(square) - mean * mean));
      const v = 118 + (mean - 118) * 0.25 + (grey[i] - mean) * clamp(44 / (spread + 6), 1, 5);
      px[4 * i] = px[4 * i + 1] = px[4 * i + 2] = v;
    }
}
