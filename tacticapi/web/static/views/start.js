// The first screen: go on with a match, or begin one.

import { Refused, all, ask } from "../api.js";
import { button, choice, field, h, part } from "../dom.js";
import { newKey } from "../entries.js";
import { RATINGS, keyOf, kindOf, kinds } from "../kinds.js";
import { CHECKS, FORMATS, readMatch } from "./start-form.js";

const SHOWN = 8;
const UNSAID = ["", "not said"];
const HANDS = [UNSAID, ["right", "right"], ["left", "left"], ["both", "both: a forehand on either side"]];

export async function startScreen(signal) {
  const message = h("p", { role: "alert", class: "problem" });
  const going = h("div");
  const known = { own: h("datalist", { id: "own-known" }), opponent: h("datalist", { id: "opponent-known" }) };
  const form = newMatchForm(message, known);
  listKnown(going, known).catch((error) => {
    if (!signal.aborted) message.textContent = told(error);
  });
  return [h("h1", { tabindex: "-1" }, "Matches"), message, going, form];
}

const told = (error) =>
  error instanceof Refused ? error.message : "The service cannot be reached. A match needs a connection to begin; later entries wait for one.";

async function listKnown(going, known) {
  const [players, matches] = await Promise.all([all("/v1/players?page_size=100"), all("/v1/matches?status=open&page_size=100")]);
  const label = new Map(players.map((player) => [player.id, player.label]));
  for (const player of players) known[player.side].append(h("option", { value: player.label }));
  if (!matches.length) return;
  const link = (match) =>
    h("li", {}, h("a", { class: "block", href: `#/m/${match.id}/watch` }, `${label.get(match.own_id) ?? "erased"} and ${label.get(match.opponent_id) ?? "erased"}, ${match.started_at.slice(0, 10)}`));
  going.append(part("Go on with a match", {}, h("ul", { class: "plain" }, matches.reverse().slice(0, SHOWN).map(link))));
}

function player(side, words, known) {
  return h(
    "fieldset",
    {},
    h("legend", {}, words),
    field("Nickname or code", h("input", { id: `${side}-label`, list: known.id, required: true, maxlength: 100, autocomplete: "off", "aria-describedby": "labels-hint" })),
    known,
    field("Playing hand", choice(`${side}-hand`, HANDS)),
  );
}

function abilities() {
  const rated = kinds.filter((kind) => kind.subject === "own" && kind.ways[0] === "rating" && !kind.health);
  const select = (kind) => field(kind.coach.asks, choice(`own-${keyOf(kind).replaceAll("_", "-")}`, [UNSAID, ...RATINGS.map((word, n) => [String(n), `${n}, ${word}`])], "", { "data-own": keyOf(kind) }));
  return h(
    "details",
    {},
    h("summary", {}, "What your player can do"),
    h("p", {}, "Advice asks only for what your player can do. Tactics that need a stroke without a rating are held back. The ratings are kept with the player."),
    rated.map(select),
  );
}

function newMatchForm(message, known) {
  const surfaces = kindOf("context.surface").options.map((word) => [word, word]);
  const submit = h("button", { class: "main" }, "Begin with the warm-up");
  const form = h(
    "form",
    {},
    h("p", { id: "labels-hint" }, "Nicknames or codes only: no full names, no birth dates. Choose one you have used, or write a new one."),
    player("own", "Your player", known.own),
    player("opponent", "The opponent", known.opponent),
    h(
      "fieldset",
      {},
      h("legend", {}, "The match"),
      field("Surface", choice("surface", [UNSAID, ...surfaces])),
      field("Format", choice("format", FORMATS.map(([value, words]) => [value, words]))),
      check("no-ad", "No advantage: one point decides at deuce"),
      field("Serves first", choice("first-server", [["", "not known yet"], ["own", "your player"], ["opponent", "the opponent"]])),
    ),
    h(
      "fieldset",
      {},
      h("legend", {}, "What the event permits"),
      h("p", {}, "Check the event's rules on coaching and devices. Where advice is not permitted, only safety is shown."),
      CHECKS.map(([id, words, pairs]) => field(words, choice(id, pairs))),
    ),
    abilities(),
    submit,
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    submit.disabled = true;
    message.textContent = "";
    begin(form).then(
      (id) => { location.hash = `#/m/${id}/watch`; },
      (error) => {
        submit.disabled = false;
        message.textContent = told(error);
        message.scrollIntoView();
      },
    );
  });
  return part("Begin a match", {}, form);
}

const check = (id, words) => h("label", { class: "check" }, h("input", { type: "checkbox", id }), h("span", {}, words));

// A second press after a lost answer must not make a second player or match.
let keys = {};

async function begin(form) {
  const { own, opponent, match } = readMatch(form);
  const body = { own_id: await playerId("own", own), opponent_id: await playerId("opponent", opponent), ...match };
  const asked = JSON.stringify(body);
  keys = keys.asked === asked ? keys : { asked, key: newKey() };
  const made = await ask("POST", "/v1/matches", { body, key: keys.key });
  return made.body.id;
}

/** The player with this label, made where there is none; what was said of them is kept with them. */
async function playerId(side, { label, facts }) {
  const found = (await ask("GET", `/v1/players?side=${side}&label=${encodeURIComponent(label)}`)).body.items[0];
  if (!found) return (await ask("POST", "/v1/players", { body: { side, label, facts } })).body.id;
  const path = `/v1/players/${found.id}`;
  if (Object.entries(facts).some(([name, value]) => found.facts[name] !== value)) {
    await ask("PATCH", path, { body: { facts: { ...found.facts, ...facts } }, match: `"${found.version}"` });
  }
  return found.id;
}
