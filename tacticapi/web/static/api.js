// The public API, asked by the browser. The token is kept for this window only and goes nowhere but to this service.

import { tell } from "./bus.js";
import { PREFIX, root } from "./keep.js";
import { capital } from "./words.js";

const TOKEN = `${PREFIX}token`;

/** The service could not be reached; it is unknown whether it did anything. */
export class Unreachable extends Error {}

/** The service refused. `status` is the HTTP status, `problem` the problem document. */
export class Refused extends Error {
  constructor(status, problem) {
    super(problemWords(problem));
    this.status = status;
    this.problem = problem;
  }
}

/** The prefix of every address: the demo match asks the service for its state after a step. */
export const line = { before: "" };

/** The full address of an API path. */
export const addressOf = (path) => root + line.before + path;

export const token = {
  get: () => sessionStorage.getItem(TOKEN),
  set: (text) => sessionStorage.setItem(TOKEN, text),
};

/** Ask the API: {status, body, etag, next}. Throws Unreachable, Refused. */
export async function ask(method, path, { body, key, match, signal, accept = "application/json" } = {}) {
  const headers = { Accept: accept };
  const shown = token.get();
  if (shown && !line.before) headers.Authorization = `Bearer ${shown}`;
  if (body !== undefined) headers["Content-Type"] = "application/json";
  if (key) headers["Idempotency-Key"] = key;
  if (match) headers["If-Match"] = match;
  let answer;
  let text;
  try {
    const sent = body === undefined ? undefined : JSON.stringify(body);
    answer = await fetch(addressOf(path), { method, headers, body: sent, credentials: "omit", cache: "no-cache", signal });
    text = await answer.text();
  } catch {
    throw new Unreachable();
  }
  if (!answer.headers.get("X-Request-ID")) throw new Unreachable(); // the network's login page, not our service
  const read = answer.ok && accept !== "application/json" ? text : parsed(text);
  if (answer.status === 401) {
    if (token.get() !== shown) return ask(method, path, { body, key, match, signal, accept }); // it was typed in meanwhile
    tell("token");
  }
  if (!answer.ok) throw new Refused(answer.status, { status: answer.status, title: answer.statusText, ...read });
  return { status: answer.status, body: read, etag: answer.headers.get("ETag"), next: nextOf(answer) };
}

/** Every item of a list, page by page. */
export async function all(path) {
  const items = [];
  for (let page = path; page; ) {
    const { body, next } = await ask("GET", page);
    items.push(...body.items);
    page = next;
  }
  return items;
}

/** A problem document in one sentence or two. */
export function problemWords(problem) {
  const faults = (problem.errors ?? []).map(
    (fault) => `${fault.pointer ?? fault.parameter ?? ""}: expected ${fault.expected}`,
  );
  return [problem.title, faults.length ? faults.join("; ") : problem.detail && capital(problem.detail)].filter(Boolean).join(". ");
}

function parsed(text) {
  try {
    return text ? JSON.parse(text) : null;
  } catch {
    return null;
  }
}

function nextOf(answer) {
  const link = /<([^>]+)>;\s*rel="?next"?/.exec(answer.headers.get("Link") ?? "");
  if (!link) return null;
  const address = new URL(link[1], answer.url);
  return address.pathname.slice(addressOf("").length) + address.search;
}
