// A module of the browser for node's own test runner. The package hands modules to the browser as text and has no
// addresses, so here too a module becomes one address, with what it imports inside it.
import { readFileSync } from "node:fs";

const STATIC = new URL("../../readaid/widgets/static/", import.meta.url);

/** @param {string} name @returns {string} */
const address = (name) => {
  const text = readFileSync(new URL(name, STATIC), "utf8");
  const whole = text.replace(/from "\.\/([\w.]+)"/g, (_, other) => `from "${address(other)}"`);
  return `data:text/javascript;base64,${Buffer.from(whole).toString("base64")}`;
};

/** Load a module of `readaid/widgets/static`. @param {string} name @returns {Promise<any>} */
export const load = (name) => import(address(name));
