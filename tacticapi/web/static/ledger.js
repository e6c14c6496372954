// A match's current entries under one noun: those the service holds and those waiting here. After the first reading, only
// newer ones are requested.

import { all } from "./api.js";
import { hear, tell } from "./bus.js";
import { queue } from "./entries.js";
import * as keep from "./keep.js";
import { entryId } from "./log.js";

const MAX_READINGS = 5;
const WAITS = Number.MAX_SAFE_INTEGER; // the place of entries that the service has not placed yet

export class Ledger {
  /** noun: in the address; held: the member of a kept entry that holds what was posted; told: the event on a change. */
  constructor(noun, held, told) {
    Object.assign(this, { noun, held, told, match: null, entries: [], steps: 0, newest: 0 });
    hear("queue", (step) => { if (step.item.noun === noun && step.item.match === this.match) this.follow(step); });
  }

  /** Switch to this match, with what this device knows of it; `newest` is the last entry read from the service. */
  recall(id) {
    if (this.match === id) return;
    const kept = keep.read(`${this.noun}/${id}`, []);
    const { newest, entries } = Array.isArray(kept) ? { newest: 0, entries: kept } : kept; // a list was kept by an earlier version of the page
    Object.assign(this, { match: id, newest, entries });
  }

  /** Take over what the service holds. If it holds less than was read, it was restored from a backup: read everything again. */
  async refresh(id, revision = WAITS) {
    this.recall(id);
    if (revision < this.newest) Object.assign(this, { newest: 0, entries: [] });
    for (let n = 0; n < MAX_READINGS; n += 1) {
      const before = this.steps;
      const listed = await all(`/v1/matches/${id}/${this.noun}?page_size=100&cursor=${this.newest}`);
      if (this.match !== id) return;
      if (this.steps !== before) continue; // entries delivered in the meantime may be missing from it
      const here = new Map(this.entries.map((entry) => [entry.key, entry]));
      for (const entry of listed) this.take(entry);
      this.entries.sort((one, other) => (one.place ?? WAITS) - (other.place ?? WAITS));
      for (const item of queue.waiting().filter((each) => each.match === id && each.noun === this.noun)) this.apply(item, here.get(item.key));
      return this.changed();
    }
  }

  /** Take over one entry from the service: a new one, one that replaces another, or one that withdraws another. */
  take({ id, sequence, supersedes, [this.held]: body }) {
    const known = this.entries.find((entry) => entry.id === id || (supersedes && entry.id === supersedes) || (body?.ref && entry.key === body.ref));
    const same = known?.id === id ? known : {};
    this.newest = Math.max(this.newest, sequence);
    this.entries = this.entries.filter((entry) => entry !== known);
    if (body) this.entries.push({ ...same, key: body.ref ?? same.key ?? id, id, sequence, place: known?.place ?? sequence, body });
  }

  /** Take over a waiting entry; `after` is the newest service entry known when it was made. */
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
    else if (kind === "kept" && answer?.id && !item.withdraws) this.entries = this.entries.filter((entry) => entry.id !== answer.id || entry.key === item.key).map((entry) => (entry.key === item.key ? { ...entry, id: answer.id, sequence: answer.sequence, place: answer.sequence } : entry));
    else return;
    this.changed();
  }

  /** Change this device's notes on entries, and keep them. */
  note(keys, change) {
    this.entries = this.entries.map((entry) => (keys.includes(entry.key) ? { ...entry, ...change } : entry));
    this.changed();
  }

  changed() {
    keep.write(`${this.noun}/${this.match}`, { newest: this.newest, entries: this.entries });
    tell(this.told);
  }
}
