// The entries of a match under one noun as they stand: what the service holds, with what waits here.

import { all } from "./api.js";
import { hear, tell } from "./bus.js";
import { queue } from "./entries.js";
import * as keep from "./keep.js";
import { entryId } from "./log.js";

const MAX_READINGS = 5;

export class Ledger {
  /** noun: of the address; held: the member of a kept entry that holds what was posted; told: the event of a change. */
  constructor(noun, held, told) {
    Object.assign(this, { noun, held, told, match: null, entries: [], steps: 0, newest: 0 });
    hear("queue", (step) => { if (step.item.noun === noun && step.item.match === this.match) this.follow(step); });
  }

  /** Show this match from now on, with what this device knows of it. */
  recall(id) {
    if (this.match === id) return;
    Object.assign(this, { match: id, newest: 0, entries: keep.read(`${this.noun}/${id}`, []) });
    this.newest = Math.max(0, ...this.entries.map((entry) => entry.sequence ?? 0));
  }

  /** Take over what the service holds. */
  async refresh(id) {
    this.recall(id);
    for (let n = 0; n < MAX_READINGS; n += 1) {
      const before = this.steps;
      const listed = await all(`/v1/matches/${id}/${this.noun}?page_size=100`);
      if (this.match !== id) return;
      if (this.steps !== before) continue; // what was delivered meanwhile may be missing from it
      const known = new Map(this.entries.map((entry) => [entry.id, entry]));
      const here = new Map(this.entries.map((entry) => [entry.key, entry]));
      this.newest = Math.max(0, ...listed.map((entry) => entry.sequence));
      this.entries = standing(listed, this.held).map((entry) => {
        const body = entry[this.held];
        return { ...known.get(entry.id), key: body.ref ?? known.get(entry.id)?.key ?? entry.id, id: entry.id, sequence: entry.sequence, body };
      });
      for (const item of queue.waiting().filter((each) => each.match === id && each.noun === this.noun)) this.apply(item, here.get(item.key));
      return this.changed();
    }
  }

  /** Take over an entry that waits; `after` is the newest entry of the service that was known when it was made. */
  apply(item, before = {}) {
    const id = item.withdraws && entryId(this.match, item.withdraws);
    const gone = item.withdraws ?? item.key;
    this.entries = this.entries.filter((entry) => entry.key !== gone && !(id && entry.id === id));
    if (!item.withdraws) this.entries.push({ after: this.newest, ...before, key: item.key, body: item.body });
  }

  follow({ kind, item, answer }) {
    this.steps += 1;
    if (kind === "added") this.apply(item);
    else if (kind === "dropped" || kind === "refused") this.entries = this.entries.filter((entry) => entry.key !== item.key);
    else if (kind === "kept" && answer?.id && !item.withdraws) this.entries = this.entries.filter((entry) => entry.id !== answer.id || entry.key === item.key).map((entry) => (entry.key === item.key ? { ...entry, id: answer.id, sequence: answer.sequence } : entry));
    else return;
    this.changed();
  }

  /** Change what this device notes of entries, and keep it. */
  note(keys, change) {
    this.entries = this.entries.map((entry) => (keys.includes(entry.key) ? { ...entry, ...change } : entry));
    this.changed();
  }

  changed() {
    keep.write(`${this.noun}/${this.match}`, this.entries);
    tell(this.told);
  }
}

/** Entries that stand, each at the place of the one that it corrects, as the service has them. */
function standing(listed, held) {
  const first = new Map();
  const newest = new Map();
  for (const entry of listed) {
    const root = entry.supersedes ? first.get(entry.supersedes) ?? entry.id : entry.id;
    first.set(entry.id, root);
    newest.set(root, entry);
  }
  return [...newest.values()].filter((entry) => entry[held]);
}
