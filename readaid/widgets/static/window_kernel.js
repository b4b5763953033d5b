// The way to the kernel: one socket that is opened again when it falls, messages that wait for it, answers by asking.
import { packed, unpacked } from "./window_wire.js";

/** @typedef {import("./window_wire.js").Message} Message */
/** How long until the socket is tried again, in ms; the last stays. */
const PAUSES = [200, 500, 1000, 2000, 4000];

/** How often a kernel that starts is asked whether it is there, in ms. */
const ROUND = 1000;

/** A kernel of the server this page came from. */
export class Kernel {
  /** @param {string} address of the kernel's channels, without a question mark @param {(m: Message) => void} heard
   * @param {(near: boolean) => void} near told when the socket stands, and when it has stayed away for a while */
  constructor(address, heard, near) {
    this.session = crypto.randomUUID();
    this.address = `${address}?session_id=${this.session}`;
    this.heard = heard;
    this.near = near;
    /** @type {(string|ArrayBuffer)[]} */
    this.waiting = [];
    /** @type {Map<string, {shown: (m: Message) => void, replied: (m: Message) => void}>} */
    this.asked = new Map();
    this.failed = 0;
    this.open();
  }

  open() {
    this.socket = new WebSocket(this.address);
    this.socket.binaryType = "arraybuffer";
    this.socket.onopen = () => {
      this.failed = 0;
      this.near(true);
      for (const frame of this.waiting.splice(0)) this.socket?.send(frame);
    };
    this.socket.onmessage = (e) => this.take(unpacked(e.data));
    this.socket.onclose = () => {
      if (++this.failed > 2) this.near(false);
      setTimeout(() => this.open(), PAUSES[Math.min(this.failed, PAUSES.length) - 1]);
    };
  }

  /** @param {Message} message */
  take(message) {
    const asked = this.asked.get(message.parent_header.msg_id ?? "");
    if (message.channel === "shell") asked?.replied(message);
    else {
      asked?.shown(message);
      this.heard(message);
    }
  }

  /** Send a message; one that finds no socket waits for it. @param {string} type @param {object} content
   * @param {ArrayBuffer[]} [buffers] @param {object} [metadata] @returns {string} its id */
  send(type, content, buffers = [], metadata = {}) {
    const id = crypto.randomUUID();
    const header = { msg_id: id, msg_type: type, session: this.session, username: "", version: "5.3" };
    const frame = packed(
      { header: { ...header, date: new Date().toISOString() }, parent_header: {}, metadata, content, channel: "shell" },
      buffers,
    );
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(frame);
    else this.waiting.push(frame);
    return id;
  }

  /** Run code. @param {string} code @param {(m: Message) => void} [shown] gets what it shows meanwhile
   * @param {Record<string, string>} [expressions] values wanted afterwards @returns {Promise<import("./window_wire.js").Content>} the reply's */
  run(code, shown = () => {}, expressions = {}) {
    const how = { silent: false, store_history: false, allow_stdin: false, stop_on_error: false };
    return this.ask("execute_request", { code, ...how, user_expressions: expressions }, shown);
  }

  /** Ask for something that has a reply. @param {string} type @param {object} content @param {(m: Message) => void} [shown]
   * @returns {Promise<import("./window_wire.js").Content>} the reply's */
  ask(type, content, shown = () => {}) {
    const id = this.send(type, content);
    // What is shown and the reply come by two ways, in any order: the asking is over when both have ended.
    return new Promise((done) => {
      let reply = /** @type {import("./window_wire.js").Content|null} */ (null),
        idle = false;
      const end = () => {
        if (!reply || !idle) return;
        this.asked.delete(id);
        done(reply);
      };
      this.asked.set(id, {
        shown: (m) => {
          idle ||= m.header.msg_type === "status" && m.content.execution_state === "idle";
          shown(m);
          end();
        },
        replied: (m) => {
          reply = m.content;
          end();
        },
      });
    });
  }

  /** Until a kernel that starts again answers on both ways. Its own first words may be gone before anybody listens, and what
   * it was asked before it stood may be lost: it is asked again and again. @returns {Promise<void>} */
  async awake() {
    const here = () => this.ask("kernel_info_request", {});
    /** @type {ReturnType<typeof setInterval>|undefined} */
    let again;
    await new Promise((done) => {
      again = setInterval(() => here().then(done), ROUND);
      here().then(done);
    });
    clearInterval(again);
  }
}
