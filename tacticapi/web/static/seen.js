// What was observed in the match, as counts to show beside the questions: what the service holds, what waits here.

import { all } from "./api.js";
import { hear, tell } from "./bus.js";
import { queue } from "./entries.js";
import * as keep from "./keep.js";

const MOST_READINGS = 5;

let match = null;
let entries = []; // {key, id, body}: standing observations of the match; the id is the service's, once it has one
let steps = 0; // of the queue

/** Show this match from now on, with what this device knows of it. */
export function recallSeen(id) {
  if (match === id) return;
  match = id;
  entries = keep.read(`seen/${id}`, []);
}

/** Show this match from now on: what this device knows of it at once, then what the service holds. */
export async function openSeen(id) {
  recallSeen(id);
  for (let n = 0; n < MOST_READINGS; n += 1) {
    const before = steps;
    const kept = standing(await all(`/v1/matches/${id}/observations?page_size=100`));
    if (match !== id) return;
    if (steps !== before) continue; // what was delivered meanwhile may be missing from it
    entries = kept.map((entry) => ({ key: entry.observation.ref ?? entry.id, id: entry.id, body: entry.observation }));
    for (const item of queue.waiting().filter((each) => each.match === id && each.noun === "observations")) apply(item);
    changed();
    return;
  }
}

/** Whether anything was observed of the match. */
export const seenAnything = () => entries.length > 0;

/** Standing observations of a match, oldest first; none of another than the one that is open. */
export const seenEntries = (id) => (id === match ? entries : []);

/** Entries that stand: neither superseded nor withdrawing. */
export function standing(kept) {
  const gone = new Set(kept.map((entry) => entry.supersedes));
  const held = (entry) => entry.observation ?? entry.tries ?? entry.point;
  return kept.filter((entry) => held(entry) && !gone.has(entry.id));
}

function apply(item) {
  const key = item.withdraws ?? item.key;
  entries = entries.filter((entry) => entry.key !== key);
  if (!item.withdraws) entries.push({ key, body: item.body });
}

function changed() {
  keep.write(`seen/${match}`, entries);
  tell("seen");
}

hear("queue", ({ kind, item, answer }) => {
  if (item.match !== match || item.noun !== "observations") return;
  steps += 1;
  if (kind === "added") apply(item);
  else if (kind === "dropped" || kind === "refused") entries = entries.filter((entry) => entry.key !== item.key);
  else if (kind === "kept" && answer?.id) entries = entries.map((entry) => (entry.key === item.key ? { ...entry, id: answer.id } : entry));
  else return;
  changed();
});

/** What was seen of a kind, of these qualifiers where any is named: {count, of, counts, last}. */
export function seenOf(what, qualifiers = {}) {
  const wanted = Object.entries(qualifiers).filter(([, value]) => value);
  const found = entries.map((entry) => entry.body).filter((body) => body.what === what);
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
