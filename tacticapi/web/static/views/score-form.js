// The score set by hand, if points were missed.

import { announce, choice, field, h } from "../dom.js";
import { enter } from "../entries.js";
import { now } from "../match.js";
import { scoreWords } from "../words.js";

const PAIR = "\\d+-\\d+";
const input = (id, value, pattern, title) => h("input", { id, value, pattern, title, autocomplete: "off", inputmode: "text" });

/** A screen with the current score, for setting it. */
export async function setScreen() {
  return [h("h1", { tabindex: "-1" }, "Correct the score by hand"), form()];
}

function form() {
  const score = now.score ?? { sets: [], games: [0, 0], points: ["0", "0"], server: now.match.first_server };
  const own = "own side first, such as 2-1";
  const sides = [["", "not known"], ["own", now.names.own], ["opponent", now.names.opponent]];
  const made = h(
    "form",
    {},
    field("Finished sets", input("set-sets", score.sets.map((pair) => pair.join("-")).join(" "), `(${PAIR}( ${PAIR})*)?`, own), "Own side first, separated by spaces, such as 6-4 3-6. Leave empty if none."),
    field("Games of this set", input("set-games", score.games.join("-"), PAIR, own)),
    field("Points of this game", input("set-points", score.points.join("-"), "(\\d+|AD)-(\\d+|AD)", "own side first, such as 15-30 or AD-40")),
    field("Serves the next point", choice("set-server", sides, score.server ?? "")),
    h("button", { class: "main" }, "Use this score"),
  );
  made.addEventListener("submit", (event) => {
    event.preventDefault();
    const read = scoreOf(made);
    enter(now.match.id, "points", { score: read }, `Score set: ${scoreWords(read, now.names)}`);
    announce("The score is set.");
    location.hash = `#/m/${now.match.id}/score`;
  });
  return made;
}

function scoreOf(made) {
  const value = (id) => made.querySelector(`#${id}`).value.trim();
  const pair = (text) => text.split("-").map(Number);
  const score = {
    sets: value("set-sets").split(" ").filter(Boolean).map(pair),
    games: pair(value("set-games")),
    points: value("set-points").split("-"),
  };
  return value("set-server") ? { ...score, server: value("set-server") } : score;
}
