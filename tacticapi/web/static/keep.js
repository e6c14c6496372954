// What this device keeps. Where the browser keeps nothing for us (some private windows), memory stands in until the page
// is closed, and the page says so.

/** The path that the service is hosted at, without a slash at its end: empty at the top of its host. */
export const root = new URL("..", import.meta.url).pathname.slice(0, -1);
export const PREFIX = `${root.slice(1)}${root && "/"}tacticapi/`; // another service at the same host keeps its own
const memory = new Map();

/** Whether this is the demo match, of which nothing is stored. */
export const demo = location.pathname === `${root}/demo`;

function usable() {
  try {
    localStorage.setItem(`${PREFIX}probe`, "1");
    localStorage.removeItem(`${PREFIX}probe`);
    return true;
  } catch {
    return false;
  }
}

export const durable = usable();

const fallback = {
  get: (name) => memory.get(name) ?? null,
  set: (name, text) => memory.set(name, text),
  drop: (name) => memory.delete(name),
  names: () => [...memory.keys()],
};
const device = {
  get: (name) => localStorage.getItem(name),
  set: (name, text) => localStorage.setItem(name, text),
  drop: (name) => localStorage.removeItem(name),
  names: () => Object.keys(localStorage),
};
const shelf = durable && !demo ? device : fallback;

/** What is kept under a name, or `otherwise`. */
export function read(name, otherwise = null) {
  const text = shelf.get(PREFIX + name);
  try {
    return text === null ? otherwise : JSON.parse(text);
  } catch {
    return otherwise;
  }
}

/** Keep something that JSON can hold. */
export function write(name, value) {
  shelf.set(PREFIX + name, JSON.stringify(value));
}

export function drop(name) {
  shelf.drop(PREFIX + name);
}

/** The names that begin so, in order. */
export function names(start) {
  const all = shelf.names().filter((name) => name.startsWith(PREFIX + start));
  return all.map((name) => name.slice(PREFIX.length)).sort();
}
