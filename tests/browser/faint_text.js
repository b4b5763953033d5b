// Texts of the bench whose contrast with what is painted behind them is below the ratio of WCAG 2.2, criterion 1.4.3.
() => {
  const parse = (c) => {
    const m = c.match(/[\d.]+/g).map(Number);
    return [m[0], m[1], m[2], m[3] ?? 1];
  };
  const part = (v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
  const light = (c) => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
  const over = (a, b) => [0, 1, 2].map((i) => a[i] * a[3] + b[i] * (1 - a[3])).concat(1);
  const ground = (e) => {
    const layers = [];
    for (let p = e; p; p = p.parentElement) {
      const b = parse(getComputedStyle(p).backgroundColor);
      if (b[3] > 0) layers.push(b);
      if (b[3] === 1) break;
    }
    return layers.reverse().reduce((under, b) => over(b, under), [255, 255, 255, 1]);
  };
  const aside = ".pb-view, .pb-names, .pb-ticks, .pb-mat > .ra-foot, svg, :disabled, .ra-sr";
  const found = new Set();
  for (const e of document.querySelectorAll(".ra-bench *")) {
    const text = [...e.childNodes].map((n) => (n.nodeType === 3 ? n.textContent.trim() : "")).join("");
    const box = e.getBoundingClientRect();
    if (!text || e.closest(aside) || !e.checkVisibility?.() || box.width < 2 || box.height < 2) continue;
    const style = getComputedStyle(e);
    const back = ground(e);
    const [hi, lo] = [light(over(parse(style.color), back)), light(back)].sort((a, b) => b - a);
    const ratio = (hi + 0.05) / (lo + 0.05);
    if (ratio < (parseFloat(style.fontSize) >= 24 ? 3 : 4.5))
      found.add(`${text.slice(0, 40)} | ${e.className} | ${ratio.toFixed(2)} | ${style.color}`);
  }
  return [...found];
}
