// What comes from Python for the eye: overviews and tiles, asked again where they were lost.

const KEEP = 220; // bitmaps of 512 px held in the browser: 220 MB at most
const OVERVIEWS = 14;

/** What comes from Python for the eye. */
export class Tiles {
  /** @param {import("./mat_view.js").View} view */
  constructor(view) {
    this.view = view;
    this.m = view.m;
  }

  // --- what comes from Python -----------------------------------------------------------------
  listen() {
    const { m } = this;
    m.on("overview", (x, buffers) => {
      this.takeOverview(buffers[0], x.layer);
      m.light.ready(x);
    });
    m.on("tile", async (x, buffers) => {
      const key = `${x.layer}:${x.k.join(",")}`,
        since = this.view.asked.get(key),
        bytes = buffers[0];
      this.view.stats.tiles++;
      this.view.stats.bytes += bytes.byteLength;
      const b = await createImageBitmap(new Blob([bytes], { type: "image/jpeg" }));
      if (since) this.view.stats.waits.push(performance.now() - since);
      this.view.asked.delete(key);
      this.view.tiles.get(key)?.close();
      this.view.tiles.set(key, b);
      while (this.view.tiles.size > KEEP) {
        const old = /** @type {string} */ (this.view.tiles.keys().next().value);
        this.view.tiles.get(old)?.close();
        this.view.tiles.delete(old);
      }
      this.view.draw();
    });
    // All of a batch was sent, yet some are not here: they were lost on the way, so ask again.
    m.on("tiles_done", (x) =>
      setTimeout(() => {
        let lost = false;
        for (const q of x.keys) lost = this.view.asked.delete(`${x.layer}:${q.join(",")}`) || lost;
        if (lost) this.view.draw();
      }, 1500),
    );
    m.on("tiles_failed", (x) => {
      for (const q of x.keys) this.view.asked.delete(`${x.layer}:${q.join(",")}`);
      this.view.draw();
    });
    m.on("relook", (x) => {
      if (!this.view.asked.size) this.view.former = this.view.layer;
      this.view.layer = x.layer;
      this.view.asked.clear();
      this.view.draw();
    });
  }
  /** A whole photograph small. @param {DataView<ArrayBuffer>|undefined} bytes @param {number} layer */
  async takeOverview(bytes, layer) {
    if (!bytes?.byteLength || layer < 0) return;
    const b = await createImageBitmap(new Blob([bytes], { type: "image/jpeg" }));
    this.view.overviews.delete(layer);
    this.view.overviews.set(layer, b);
    while (this.view.overviews.size > OVERVIEWS)
      this.view.overviews.delete(/** @type {number} */ (this.view.overviews.keys().next().value));
    if (layer === this.view.layer) this.m.light.tone.look(b);
    this.view.draw();
  }
  /** A look that is on the screen from now on. @param {number} layer @param {boolean} other another photograph */
  relayer(layer, other) {
    if (layer === this.view.layer) return;
    if (other) this.view.former = -1;
    else if (!this.view.asked.size) {
      this.view.former = this.view.layer;
      const b = this.view.overviews.get(this.view.layer);
      if (b && !this.view.overviews.has(layer)) this.view.overviews.set(layer, b);
    }
    this.view.layer = layer;
    this.view.asked.clear();
  }
  close() {
    cancelAnimationFrame(this.view.raf);
    this.view.tiles.forEach((b) => b.close());
    this.view.overviews.clear();
  }
}
