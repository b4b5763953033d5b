// Jupyter's messages on the wire of a server's channels: JSON by itself, or JSON and bytes in one frame.
// The frame: the number of parts, where each begins (32 bit, most significant byte first), then the parts, JSON first.

/** What a widget says to its other half. @typedef {{method?: string, state?: Record<string, any>,
 *   buffer_paths?: (string|number)[][], content?: object}} WidgetData */
/** What messages bear that this page listens to; each kind has some of it.
 * @typedef {{comm_id?: string, target_name?: string, comms?: object, execution_state?: string, status?: string, evalue?: string,
 *   data?: WidgetData & {"application/vnd.jupyter.widget-view+json"?: {model_id: string}}}} Content */
/** @typedef {{msg_id: string, msg_type: string, session: string, username: string, date: string, version: string}} Header
 * @typedef {{header: Header, parent_header: Partial<Header>, metadata: object, content: Content,
 *   channel?: string, buffers?: DataView<ArrayBuffer>[]}} Message */

/** A message as one frame. @param {Message} message @param {ArrayBuffer[]} [buffers] @returns {string|ArrayBuffer} */
export function packed(message, buffers = []) {
  if (!buffers.length) return JSON.stringify({ ...message, buffers: [] });
  const parts = [new TextEncoder().encode(JSON.stringify(message)), ...buffers.map((b) => new Uint8Array(b))];
  const head = 4 * (parts.length + 1);
  const frame = new Uint8Array(parts.reduce((sum, p) => sum + p.byteLength, head));
  const numbers = new DataView(frame.buffer);
  numbers.setUint32(0, parts.length);
  let at = head;
  parts.forEach((part, i) => {
    numbers.setUint32(4 * (i + 1), at);
    frame.set(part, at);
    at += part.byteLength;
  });
  return frame.buffer;
}

/** The message of a frame. @param {string|ArrayBuffer} frame @returns {Message} */
export function unpacked(frame) {
  if (typeof frame === "string") return JSON.parse(frame);
  const numbers = new DataView(frame);
  const count = numbers.getUint32(0);
  const starts = Array.from({ length: count }, (_, i) => numbers.getUint32(4 * (i + 1)));
  const part = (/** @type {number} */ i) =>
    new DataView(frame, starts[i], (starts[i + 1] ?? frame.byteLength) - starts[i]);
  const message = JSON.parse(new TextDecoder().decode(part(0)));
  return { ...message, buffers: starts.slice(1).map((_, i) => part(i + 1)) };
}
