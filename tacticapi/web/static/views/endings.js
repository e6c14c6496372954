// How the last point ended: what may be tapped after a point, and what each tap says about the opponent.

import { button, h } from "../dom.js";
import { enter, takeBackAll } from "../entries.js";
import { entriesOf } from "../log.js";

const one = (what, hit, more = {}) => ({ what, count: hit ? 1 : 0, of: 1, ...more });

/** The words in both rows for a point: {winner, own_error, server, court, place}; null leaves its place empty. */
function rowsOf({ winner, own_error: easy, server, court }) {
  const lost = winner === "opponent";
  const theirs = server === "opponent";
  const returned = theirs ? [one("serve.unreturned_serves", false, { court })] : [];
  const stroke = (wing, word) => [`${word} ${lost ? "winner" : "error"}`, [one("rally.points_ended", !lost, { wing }), ...returned]];
  const strokes = easy ? [null, null] : [stroke("forehand", "Forehand"), stroke("backhand", "Backhand")];
  const served = lost && !easy ? ["Not returned", [one("serve.unreturned_serves", true, { court })]] : null;
  const fault = lost ? null : ["Double fault", [one("serve.double_faults", true, { court }), one("serve.first_serves_in", false, { court })]];
  const net = [["They were at the net", [one("net.points_at_net", lost)]], ["We were at the net", [one("passing.points_against_net", lost)]]];
  if (!theirs) return [[...strokes, null, ...net], [["More than 8 strokes", [one("rally.long_points_won", lost)]]]];
  const first = (count) => [one("serve.first_serves_in", count, { court }), one(`serve.${count ? "first" : "second"}_serve_points_won`, lost, { court })];
  const spot = (name, word) => [word, [{ what: `serve.${court}_court_spots`, counts: { [name]: 1 } }]];
  const spots = court ? [spot("wide", "Wide"), spot("body", "Body"), spot("T", "T")] : [null, null, null];
  return [[...strokes, served ?? fault, ...net], [["1st serve", first(true)], ["2nd serve", first(false)], ...spots]];
}

/** Two rows that never move. `point`: the last point entered on this device, with its group; null before the first. */
export function endings(match, point) {
  const rows = point ? rowsOf(point) : [Array(5).fill(null), Array(5).fill(null)];
  const title = point ? `How was the point ${point.winner === "own" ? "won" : "lost"}?` : "";
  return h("div", { class: "endings", role: "group", "aria-label": title || "How the point ended" }, rows.map((row) => h("div", { class: "chips" }, row.map((each) => (each ? chip(match, point, each) : h("span"))))));
}

function chip(match, point, [words, said]) {
  const mine = () => entriesOf(match).filter((entry) => entry.group === point.group && entry.words === words);
  const press = () => {
    const entered = mine();
    if (entered.length) for (const entry of entered) takeBackAll(match, { ...entry, alone: true });
    else for (const body of said) enter(match, "observations", { ...body, ...point.place }, words, point.group);
    made.setAttribute("aria-pressed", String(mine().length > 0));
  };
  const made = button(words, press, { "aria-pressed": String(mine().length > 0) });
  return made;
}
