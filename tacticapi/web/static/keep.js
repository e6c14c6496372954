// What this device keeps. If the browser stores nothing for us (some private windows), or is full, memory is used instead
// until the page is closed, and the page says so.

import { tell } from "./bus.js";

/** The path at which the service is hosted, without a trailing slash: empty at the top of its host. */
export const root = new URL("..", import.meta.url).pathname.slice(0, -1);
export const PREFIX = `${root.slice(1)}${root && "/"}tacticapi/`; // another service on the same host keeps its own
const memory = new Map();

/** Whether this is the demo match, which is never stored. */
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

/** Try something on the browser's storage; return `otherwise` if it refuses. */
function onDevice(act, otherwise) {
  try {
    return holds ? act(localStorage) : otherwise;
  } catch {
    return otherwise;
  }
}

/** Whether what is written now will be lost when the page is closed. */
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

/** Keep something that JSON can hold: on the device, or in memory if the device is full. */
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

/** The names with this beginning, in order. */
export function names(start) {
  const all = new Set([...memory.keys(), ...onDevice((device) => Object.keys(device), [])]);
  return [...all].filter((name) => name.startsWith(PREFIX + start)).map((name) => name.slice(PREFIX.length)).sort();
}
