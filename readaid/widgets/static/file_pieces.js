// Files on their way to Python, in pieces: one large message would cut the connection.

const PART = 1 << 20;
/** A piece of a file. @typedef {{id: string, name: string, at: number, of: number, last: boolean, share: number}} Piece */

/** Send files in pieces.
 * @param {(args: Piece, buffers: ArrayBuffer[]) => Promise<void>} ask gets each piece, `last` with those of the last file,
 *   `share` how much of all has been sent @param {File[]} files @param {() => boolean} going false: no further piece */
export async function sendFiles(ask, files, going = () => true) {
  const all = files.reduce((sum, f) => sum + f.size, 0);
  let sent = 0;
  for (const [k, f] of files.entries()) {
    const id = String(Math.random()).slice(2),
      of = Math.max(1, Math.ceil(f.size / PART));
    for (let at = 0; at < of; at++) {
      const piece = await f.slice(at * PART, (at + 1) * PART).arrayBuffer();
      if (!going()) return;
      sent += piece.byteLength;
      const share = all ? sent / all : 1;
      await ask({ id, name: f.name, at, of, last: k === files.length - 1, share }, [piece]);
    }
  }
}
