// What this device keeps. Where the browser keeps nothing for us (some private windows), or no more since it is full, memory
// stands in until the page is closed, and the page says so.

import { tell } from "./bus.js";

/** The path that the service is hosted at, without a slash at its end: empty at the top of its host. */
export const root = new URL("..", import.meta.url).pathname.slice(0, -1);
export const PREFIX = `${root.slice(1)}${root && "/"}tacticapi/`; // another service at the same host keeps its own
const memory = new Map();

/** Whether this is the demo match, of which nothing is stored. */
export const demo = location.pathname === `${root}/demo`;

const holds = !demo && usable();
let full = false;

function usable() {
  try {
    localStorage.setItem(`${PREFIX}probe`, "1");
    localStorage.removeItem(`${PREFIX}probe`);
    return true;
  } catch {
    return false;
  }
}

/** Try something on what the browser keeps for us; `otherwise` where it refuses. */
function onDevice(act, otherwise) {
  try {
    return holds ? act(localStorage) : otherwise;
  } catch {
    return otherwise;
  }
}

/** Whether what is written now is lost when the page is closed. */
export const fleeting = () => !demo && (!holds || full);

/** What is kept under a name, or `otherwise`. */
export function read(name, otherwise = null) {
  const text = memory.get(PREFIX + name) ?? onDevice((device) => device.getItem(PREFIX + name), null);
  try {
    return text === null ? otherwise : JSON.parse(text);
  } catch {
    return otherwise;
  }
}

/** Keep something that JSON can hold: on the device, in memory where it takes no more. */
export function write(name, value) {
  const text = JSON.stringify(value);
  const kept = onDevice((device) => (device.setItem(PREFIX + name, text), true), false);
  if (kept) memory.delete(PREFIX + name);
  else memory.set(PREFIX + name, text);
  if (kept === full && holds) {
    full = !kept;
    tell("full");
  }
}

export function drop(name) {
  memory.delete(PREFIX + name);
  onDevice((device) => device.removeItem(PREFIX + name));
}

/** The names that begin so, in order. */
export function names(start) {
  const all = new Set([...memory.keys(), ...onDevice((device) => Object.keys(device), [])]);
  return [...all].filter((name) => name.startsWith(PREFIX + start)).map((name) => name.slice(PREFIX.length)).sort();
}
