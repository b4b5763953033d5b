// Rows that stand on the screen already: which ends of two lists are equal, and what waits until the frame is painted.

/** Do it once the frame is painted: what nobody looks at waits until what is looked at stands there.
 * @param {() => void} f */
export const afterFrame = (f) => requestAnimationFrame(() => setTimeout(f, 0));

/** How many entries at the head and at the tail of two lists are equal; none is counted twice.
 * @param {readonly unknown[]} a @param {readonly unknown[]} b @returns {[number, number]} */
export function sameEnds(a, b) {
  const most = Math.min(a.length, b.length);
  let head = 0,
    tail = 0;
  while (head < most && a[head] === b[head]) head++;
  while (tail < most - head && a[a.length - 1 - tail] === b[b.length - 1 - tail]) tail++;
  return [head, tail];
}
