// The last entries, and taking them back.

import { hear } from "../bus.js";
import { announce, button, h } from "../dom.js";
import { undo } from "../entries.js";
import { entriesOf } from "../log.js";
import { now } from "../match.js";

const SHOWN = 5;

/** A bar at the thumb: the newest entry of these nouns, those before it, and a button that takes the newest back. */
export function undoPart(nouns, signal) {
  const last = h("summary");
  const list = h("ol", { class: "plain" });
  const press = () => {
    const words = undo(now.match.id, nouns);
    announce(words ? `Taken back. ${words}` : "There is nothing to take back.");
  };
  const take = button("Undo", press);
  const before = h("details", {}, last, list);
  const show = () => {
    const entries = entriesOf(now.match.id).filter((entry) => nouns.includes(entry.noun)).reverse();
    const groups = entries.filter((entry, place) => entry.group !== entries[place - 1]?.group);
    last.textContent = groups.length ? `Last: ${groups[0].words}` : "No entry yet";
    take.setAttribute("aria-disabled", String(!groups.length)); // it keeps the focus, which a disabled one loses
    list.replaceChildren(...groups.slice(1, SHOWN).map((entry) => h("li", {}, `Before: ${entry.words}`)));
  };
  hear("queue", show, signal);
  show();
  return h("section", { class: "undo", "aria-label": "Last entries" }, before, take);
}
