// What a coach enters: kept in the queue, listed for undo, and taken back by another entry that withdraws it.

import { tell } from "./bus.js";
import { announce } from "./dom.js";
import { deliver } from "./deliver.js";
import * as keep from "./keep.js";
import { amend, entriesOf, remember } from "./log.js";
import { Queue } from "./queue.js";

export const queue = new Queue(keep, deliver, stepped);

/** A random key; randomUUID is missing if the page comes from another machine without TLS. */
export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Whether this is the demo match; if so, says that nothing can be entered in it. */
function playing() {
  if (keep.demo) announce("This match plays by itself. Start a match to enter what you see.");
  if (keep.demo) tell("demo");
  return keep.demo;
}

/** Enter something under /v1/matches/{match}/{noun}. Entries of one group are undone together. */
export function enter(match, noun, body, words, group = newKey()) {
  if (playing()) return group;
  const key = newKey();
  const told = noun === "observations" ? { ...body, ref: key } : body;
  remember(match, { key, noun, words, group });
  queue.add({ key, match, noun, path: `/v1/matches/${match}/${noun}`, body: told, words, at: Date.now() });
  return group;
}

/** Set facts of the match: {context: {...}}, {opponent: {...}} or {first_server}. `before` is what undo restores. */
export function change(match, facts, words, before) {
  if (playing()) return;
  const key = newKey();
  if (before) remember(match, { key, noun: "facts", words, group: key, before });
  queue.add({ key, match, noun: "facts", path: `/v1/matches/${match}`, change: facts, words, at: Date.now() });
}

/** Post something that cannot be undone: feedback, the end of the match. */
export function post(match, noun, path, body, words) {
  if (playing()) return;
  queue.add({ key: newKey(), match, noun, path, body, words, at: Date.now() });
}

/** Take back the newest group of entries, only those of the named nouns if any. Returns the words of what was undone. */
export function undo(match, nouns = null) {
  const entries = entriesOf(match).filter((entry) => !nouns || nouns.includes(entry.noun));
  const newest = entries.at(-1);
  if (!newest) return null;
  takeBackAll(match, newest);
  return newest.words;
}

/** Take back an entry, alone or with everything entered by the same tap. */
export function takeBackAll(match, entry) {
  const listed = entriesOf(match).find((each) => each.key === entry.key);
  if (!listed || entry.alone) return void withdraw(match, entry);
  for (const each of entriesOf(match).filter(({ group }) => group === listed.group).reverse()) takeBack(match, each);
}

/** Take back one entry from this device, or from another by the service's id. */
export function withdraw(match, { key, id, noun, words }) {
  const entry = { key, noun, words, group: key };
  if (!entriesOf(match).some((each) => each.key === key)) remember(match, { ...entry, id });
  takeBack(match, entry);
}

function takeBack(match, entry) {
  if (entry.noun === "facts") {
    amend(match, entry.key, null);
    change(match, entry.before, `Undone: ${entry.words}`);
    return;
  }
  if (queue.drop(entry.key)) {
    amend(match, entry.key, null);
    return;
  }
  amend(match, entry.key, { undone: true });
  const path = `/v1/matches/${match}/${entry.noun}`;
  const words = `Undone: ${entry.words}`;
  queue.add({ key: newKey(), match, noun: entry.noun, path, withdraws: entry.key, words, at: Date.now() });
}

/** Keep the log in step with the queue, then tell the page. */
function stepped(kind, item, answer) {
  if (kind === "kept" && item.withdraws) amend(item.match, item.withdraws, null);
  else if (kind === "kept" && answer?.id) amend(item.match, item.key, { id: answer.id });
  else if (kind === "refused") amend(item.match, item.key, null);
  tell("queue", { kind, item, answer });
}
