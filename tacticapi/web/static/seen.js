// What was observed in the match, as counts to show beside the questions.

import { Ledger } from "./ledger.js";

const ledger = new Ledger("observations", "observation", "seen");

export const recallSeen = (id) => ledger.recall(id);
export const openSeen = (id, revision) => ledger.refresh(id, revision);

/** Whether anything was observed in the match. */
export const seenAnything = () => ledger.entries.length > 0;

/** A match's valid observations, oldest first: {key, id, body}; empty if another match is open. */
export const seenEntries = (id) => (id === ledger.match ? ledger.entries : []);

/** What was seen of a kind, with these qualifiers if any are named: {count, of, counts, last}. */
export function seenOf(what, qualifiers = {}) {
  const wanted = Object.entries(qualifiers).filter(([, value]) => value);
  const found = ledger.entries.map((entry) => entry.body).filter((body) => body.what === what);
  const told = { count: 0, of: 0, counts: {}, last: null, entries: 0 };
  for (const body of found.filter((each) => wanted.every(([name, value]) => each[name] === value))) {
    told.entries += 1;
    told.count += body.count ?? 0;
    told.of += body.of ?? 0;
    for (const [option, n] of Object.entries(body.counts ?? {})) told.counts[option] = (told.counts[option] ?? 0) + n;
    told.last = body.rating ?? body.value ?? body.amount ?? body.seen ?? told.last;
  }
  return told;
}
