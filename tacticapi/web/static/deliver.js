// How one waiting entry is sent, and what the response means for it.

import { Refused, ask } from "./api.js";
import { entryId } from "./log.js";

const OLDEST_MS = 6 * 24 * 3600 * 1000; // the service knows an idempotency key for seven days
const MOST_FAILURES = 8; // server errors on one entry before it stops holding up the others
const MOST_RACES = 5;
const BUSY = new Set([408, 425, 429, 502, 503, 504]);

/** Send an entry: {kept}, {refused} or {later}. */
export async function deliver(item) {
  if (item.attempts > 0 && Date.now() - item.at > OLDEST_MS) {
    return { refused: "It waited for more than six days, so it is unknown whether it was already stored." };
  }
  try {
    return { kept: await sent(item) };
  } catch (error) {
    return outcome(error, item.attempts);
  }
}

/** What an error means for the entry. */
export function outcome(error, attempts) {
  if (!(error instanceof Refused)) return { later: "connection" };
  if (error.status === 401 || error.status === 403) return { later: "token" };
  if (BUSY.has(error.status)) return { later: "service" };
  if (error.status >= 500 && attempts < MOST_FAILURES) return { later: "service" };
  return { refused: error.message };
}

async function sent(item) {
  if (item.change) return changed(item);
  let body = item.body;
  if (item.withdraws) {
    const id = entryId(item.match, item.withdraws);
    if (!id) return null; // the entry it takes back was refused, so there is nothing to take back
    body = { withdraws: id };
  }
  return (await ask(item.method ?? "POST", item.path, { body, key: item.key })).body;
}

/** Set facts on top of what the match holds now; sending them twice changes nothing more. */
async function changed(item) {
  for (let n = 0; n < MOST_RACES; n += 1) {
    const { body: match, etag } = await ask("GET", item.path);
    try {
      return (await ask("PATCH", item.path, { body: merged(match, item.change), match: etag })).body;
    } catch (error) {
      if (error.status !== 412) throw error;
    }
  }
  throw new Error("another device kept changing the match");
}

/** The members to send: facts are merged into their object, because an object replaces the one before. */
export function merged(match, change) {
  const entries = Object.entries(change).map(([name, value]) => [
    name,
    value !== null && typeof value === "object" ? { ...match[name], ...value } : value,
  ]);
  return Object.fromEntries(entries);
}
