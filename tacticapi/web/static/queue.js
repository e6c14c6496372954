// Entries on their way to the service. Each is stored on the device before anything is sent, goes with an idempotency key
// in the order in which it was made, and leaves the device only when the service has responded. An entry that the service
// refuses for good is set aside with the reason and does not hold up those behind it.
//
// Each entry is stored on its own, not in one list, so that two windows adding at once cannot overwrite each other.

const WAITING = "queue/";
const ASIDE = "aside/";
const FIRST_PAUSE_MS = 1000;
const LONGEST_PAUSE_MS = 30_000;

export class Queue {
  /**
   * keep: read, write, drop, names. send(item): resolves to {kept: answer}, {refused: words} or {later: "connection" |
   * "token" | "service"}. changed(kind, item, answer): called at every step; kind is added, kept, refused, held, dropped.
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

  /** Take back an entry that was never sent; false if it may have reached the service. */
  drop(key) {
    const found = this.waiting().find((item) => item.key === key);
    if (!found || found.attempts > 0) return false;
    this.keep.drop(WAITING + found.place);
    this.changed("dropped", found);
    return true;
  }

  /** Drop an entry that was set aside, or put it back into the queue. */
  settle(place, again) {
    const item = this.keep.read(ASIDE + place);
    if (!item) return;
    if (again) this.keep.write(WAITING + place, { ...item, refused: undefined });
    this.keep.drop(ASIDE + place);
    this.changed(again ? "added" : "dropped", item);
    if (again) this.flush();
  }

  /** Send what is waiting, in order. If called while sending, it goes on to what was added meanwhile. */
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

/** The state of the queue in a few words, for a line that never grows. */
export function queueWords(waiting, aside, held) {
  const because = { connection: ", no connection", token: ", no token", service: ", service busy" }[held] ?? "";
  const parts = [waiting && `${waiting} waiting${because}`, aside && `${aside} refused`].filter(Boolean);
  return parts.join(", ") || "All kept";
}
