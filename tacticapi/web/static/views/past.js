// Lists of matches, newest first: those that have ended, each with its debrief.

import { Refused, all } from "../api.js";
import { button, h } from "../dom.js";
import { dayWords, timeWords } from "../words.js";

const AT_ONCE = 20;

/** The matches with a status, newest first, each drawn by `line(match, names)`; `none` is shown if there are none. */
export function matchList(status, line, none, signal) {
  const message = h("p", { role: "status" }, "Loading the matches.");
  const list = h("ul", { class: "plain" });
  const box = h("div", {}, message, list);
  const drawn = (matches) => {
    message.textContent = matches.length ? "" : none;
    const show = () => list.append(...matches.splice(0, AT_ONCE).map((match) => h("li", {}, line(match, match.names))));
    const more = button("Show more", () => {
      const at = list.children.length;
      show();
      if (!matches.length) more.remove();
      list.children[at].querySelector("a").focus();
    });
    show();
    if (matches.length) box.append(more);
  };
  listed(status).then(
    ({ matches }) => {
      if (!signal.aborted) drawn(matches);
    },
    (error) => {
      message.textContent = error instanceof Refused ? error.message : "The service cannot be reached. The matches will appear when you are back online.";
    },
  );
  return box;
}

/** The club's players, and the matches with a status, newest first, each with its `names`. */
export async function listed(status) {
  const [players, matches] = await Promise.all([all("/v1/players?page_size=100"), all(`/v1/matches?status=${status}&page_size=100`)]);
  const label = new Map(players.map((player) => [player.id, player.label]));
  const names = (match) => `${label.get(match.own_id) ?? "erased"} and ${label.get(match.opponent_id) ?? "erased"}, ${dayWords(match.started_at)}, ${timeWords(match.started_at)}`;
  return { players, matches: matches.reverse().map((match) => ({ ...match, names: names(match) })) };
}

export function pastScreen(signal) {
  const line = (match, names) => h("a", { class: "block", href: `#/m/${match.id}/after` }, names);
  return [
    h("h1", { tabindex: "-1" }, "Past matches"),
    h("p", {}, "Each match opens with its debrief: what was played and won, what was a surprise, and what to start with next time."),
    matchList("ended", line, "No match has ended yet.", signal),
  ];
}
