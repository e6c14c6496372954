// What can be taken on paper: the card of a match.

import { h } from "../dom.js";
import { matchList } from "./past.js";

export function printScreen(signal) {
  const line = (match, names) => h("a", { class: "block", href: `/v1/matches/${match.id}/card`, "data-document": "card.html" }, names);
  return [
    h("h1", { tabindex: "-1" }, "Print a card"),
    h("p", {}, "A plan card is one page of A6 for the bag. It is made before the match, from what is known by then."),
    matchList("open", line, "No match is open: start one first.", signal),
  ];
}
