// Entries on their way to the service. Each is kept on the device before anything is sent, goes with an idempotency key in
// the order in which it was made, and leaves the device only when the service has answered for it. What the service
// refuses for good is set aside with its words and holds up nothing behind it.
//
// One stored item an entry, not one list: two windows that add at once cannot overwrite each other.

const WAITING = "queue/";
const ASIDE = "aside/";
const FIRST_PAUSE_MS = 1000;
const LONGEST_PAUSE_MS = 30_000;

export class Queue {
  /**
   * keep: read, write, drop, names. send(item): resolves to {kept: answer}, {refused: words} or {later: "connection" |
   * "token" | "service"}. changed(kind, item, answer): told of every step; kind is added, kept, refused, held, dropped.
   */
  constructor(keep, send, changed, wait = (ms, then) => setTimeout(then, ms)) {
    Object.assign(this, { keep, send, changed, wait, count: 0, pause: FIRST_PAUSE_MS, sending: null, held: null, timer: 0 });
  }

  /** What waits, oldest first. */
  waiting() {
    return this.keep.names(WAITING).map((name) => this.keep.read(name)).filter(Boolean);
  }

  /** What was refused for good, oldest first, each with `refused` in words. */
  aside() {
    return this.keep.names(ASIDE).map((name) => this.keep.read(name)).filter(Boolean);
  }

  /** Keep an entry and begin to send. */
  add(item) {
    this.count += 1;
    const place = `${String(Date.now()).padStart(15, "0")}-${String(this.count).padStart(6, "0")}-${item.key}`;
    const kept = { ...item, place, attempts: 0 };
    this.keep.write(WAITING + place, kept);
    this.changed("added", kept);
    this.flush();
    return kept;
  }

  /** Take back an entry that was never sent; false where it may have reached the service. */
  drop(key) {
    const found = this.waiting().find((item) => item.key === key);
    if (!found || found.attempts > 0) return false;
    this.keep.drop(WAITING + found.place);
    this.changed("dropped", found);
    return true;
  }

  /** Let what was set aside go for good, or back into the queue. */
  settle(place, again) {
    const item = this.keep.read(ASIDE + place);
    if (!item) return;
    if (again) this.keep.write(WAITING + place, { ...item, refused: undefined });
    this.keep.drop(ASIDE + place);
    this.changed(again ? "added" : "dropped", item);
    if (again) this.flush();
  }

  /** Send what waits, in order. Asked while it sends, it goes on to what came meanwhile. */
  flush() {
    clearTimeout(this.timer);
    this.sending ??= this.sendAll().finally(() => {
      this.sending = null;
    });
    return this.sending;
  }

  async sendAll() {
    for (let item = this.waiting()[0]; item; item = this.waiting()[0]) {
      this.keep.write(WAITING + item.place, { ...item, attempts: item.attempts + 1 });
      const told = await this.send(item);
      if (told.later) return this.hold(told.later, item);
      this.held = null;
      this.pause = FIRST_PAUSE_MS;
      if (told.refused) this.keep.write(ASIDE + item.place, { ...item, attempts: 0, refused: told.refused });
      this.keep.drop(WAITING + item.place);
      this.changed(told.refused ? "refused" : "kept", item, told.kept);
    }
    return undefined;
  }

  hold(why, item) {
    this.held = why;
    this.changed("held", item);
    if (why !== "token") this.timer = this.wait(this.pause, () => this.flush());
    this.pause = Math.min(this.pause * 2, LONGEST_PAUSE_MS);
  }
}

/** The state of the queue in a few words: they stand in a line that never grows. */
export function queueWords(waiting, aside, held) {
  const because = { connection: ", no connection", token: ", no token", service: ", service busy" }[held] ?? "";
  const parts = [waiting && `${waiting} waiting${because}`, aside && `${aside} refused`].filter(Boolean);
  return parts.join(", ") || "All kept";
}
