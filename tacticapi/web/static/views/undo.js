// The last entry, with a way to take it back.

import { hear } from "../bus.js";
import { announce, button, h } from "../dom.js";
import { undo } from "../entries.js";
import { entriesOf } from "../log.js";
import { now } from "../match.js";

/** A line at the thumb that never moves: the newest entry of these nouns, and a button that takes it back. */
export function undoPart(nouns, signal) {
  const last = h("p");
  const press = () => {
    const words = undo(now.match.id, nouns);
    announce(words ? `Taken back. ${words}` : "There is nothing to take back.");
  };
  const take = button("Undo", press);
  const show = () => {
    const newest = entriesOf(now.match.id).filter((entry) => nouns.includes(entry.noun)).at(-1);
    last.textContent = newest ? `Last: ${newest.words}` : "No entry yet";
    take.setAttribute("aria-disabled", String(!newest)); // it keeps the focus, which a disabled button loses
  };
  hear("queue", show, signal);
  show();
  return h("section", { class: "undo", "aria-label": "Last entry" }, last, take);
}
