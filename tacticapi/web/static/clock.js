// The countdown of the warm-up. The end is stored as a time of day, so a page that slept is right as soon as it wakes.

import * as keep from "./keep.js";

export const USUAL_MINUTES = 5;
const LONGEST_MINUTES = 30;

export class Clock {
  constructor(match) {
    this.name = `clock/${match}`;
    Object.assign(this, { minutes: USUAL_MINUTES, ends: null }, keep.read(this.name, {}));
  }

  get running() {
    return this.ends !== null;
  }

  /** Seconds left. */
  get seconds() {
    return this.running ? Math.max(0, Math.round((this.ends - Date.now()) / 1000)) : this.minutes * 60;
  }

  /** Whole minutes left, which the service uses to plan looks. */
  get left() {
    return Math.floor(this.seconds / 60);
  }

  start() {
    this.ends = Date.now() + this.minutes * 60_000;
    this.save();
  }

  stop() {
    this.ends = null;
    this.save();
  }

  /** Set the length of the warm-up. */
  set(minutes) {
    this.minutes = Math.min(LONGEST_MINUTES, Math.max(1, minutes));
    this.save();
  }

  save() {
    keep.write(this.name, { minutes: this.minutes, ends: this.ends });
  }
}
