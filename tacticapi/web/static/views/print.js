// What goes on paper: a match's plan card, and beside it the watch sheet. Both print from here.

import { Refused, ask } from "../api.js";
import { button, h } from "../dom.js";
import { matchList } from "./past.js";
import { sheet } from "./sheet.js";

const MOMENTS = ["before-match", "after-warm-up"]; // the card before the match or, once it has begun, the card for its start
const SHEET = "sheet"; // only the watch sheet, for a match that has not been started here

export async function printScreen(signal, of) {
  if (of === SHEET) return [head("Watch sheet"), buttons(["Print the watch sheet", "sheet"]), sheet()];
  return of ? paper(of) : list(signal);
}

const head = (words) => h("h1", { tabindex: "-1", class: "noprint" }, words);

function list(signal) {
  const line = (match, names) => h("a", { class: "block", href: `#/print/${match.id}` }, names);
  return [
    head("Print a card"),
    h("p", {}, "For events that do not permit devices: the plan on one A6 page, and a sheet for tallying in pencil. Check the event's rules on notes first."),
    h("h2", {}, "Plan card and watch sheet of a match"),
    matchList("open", line, "No match is open: start one first.", signal),
    h("h2", {}, "The watch sheet on its own"),
    h("p", {}, h("a", { class: "block", href: `#/print/${SHEET}` }, "Watch sheet without a match")),
  ];
}

async function paper(id) {
  const { body: match } = await ask("GET", `/v1/matches/${id}`);
  const [own, opponent] = await Promise.all([match.own_id, match.opponent_id].map(label));
  const drawn = await card(id).catch((error) => {
    if (!(error instanceof Refused)) throw error;
    return h("p", { class: "notice noprint" }, h("strong", {}, "No plan card: "), error.message);
  });
  const both = drawn.matches(".a6") ? [["Print both", "both"], ["Print the card", "card"]] : [];
  return [head(`On paper: ${own} and ${opponent}`), buttons(...both, ["Print the watch sheet", "sheet"]), drawn, sheet(own, opponent)];
}

const label = async (id) => (id ? (await ask("GET", `/v1/players/${id}`)).body.label : "erased");

function buttons(...named) {
  const print = (what) => {
    document.body.dataset.print = what;
    window.print();
  };
  return h("div", { class: "row noprint" }, named.map(([words, what], n) => button(words, () => print(what), n ? {} : { class: "main" })));
}

/** The card as the service draws it. It comes with the token, which a plain link would not carry. */
async function card(id, [moment, ...later] = MOMENTS) {
  try {
    const { body } = await ask("GET", `/v1/matches/${id}/card?moment=${moment}`, { accept: "text/html" });
    const bare = body.replace(/<style>.*<\/style>/s, ""); // the page has the same styles in a file and allows no others
    const drawn = document.importNode(new DOMParser().parseFromString(bare, "text/html").querySelector("main"), true);
    const made = h("section", { class: "a6 card", "aria-label": "Plan card" }, ...drawn.childNodes);
    made.style.setProperty("--pt", drawn.dataset.size);
    made.querySelector("h1").replaceWith(heading(made.querySelector("h1").textContent));
    return made;
  } catch (error) {
    if (!(error instanceof Refused) || error.status === 403 || !later.length) throw error;
    return card(id, later);
  }
}

const heading = (words) => h("p", { class: "title", role: "heading", "aria-level": "2" }, words);
