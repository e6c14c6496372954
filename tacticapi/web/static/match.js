// The match that the page is at: what the service says of it, and the last of that for when it cannot be asked.

import { Refused, Unreachable, all, ask } from "./api.js";
import { hear, tell } from "./bus.js";
import { Clock } from "./clock.js";
import { merged } from "./deliver.js";
import { queue } from "./entries.js";
import * as keep from "./keep.js";
import { permitted } from "./kinds.js";
import { closeSafety } from "./safety.js";
import { openSeen, seenAnything, standing } from "./seen.js";

const FRESH = { match: null, names: null, facts: null, score: null, moment: "after-warm-up", plan: null, advice: null, looks: null, tries: [] };
const KEPT = ["match", "names", "facts", "score", "moment", "plan", "tries"]; // advice is read at its moment only, so it is not kept

/** The state; views read it and never write it. */
export const now = { ...FRESH };

const ON_DEVICE = ["match", "log", "seen", "clock", "advised", "safety", "list"];

/** Keep the state on this device, until the match has ended and everything of it is sent. */
function save() {
  const { id, status } = now.match;
  if (status === "ended") closeSafety(id); // its debrief can be read
  if (status === "ended" && !queue.waiting().some((item) => item.match === id)) forget(id);
  else keep.write(`match/${id}`, Object.fromEntries(KEPT.map((name) => [name, now[name]])));
}

function forget(id) {
  for (const name of ON_DEVICE) keep.drop(`${name}/${id}`);
}

/** Open a match. Throws Unreachable where neither service nor device know it, Refused where the service says no. */
export async function open(id) {
  Object.assign(now, FRESH, keep.read(`match/${id}`, {}));
  try {
    const { body: match } = await ask("GET", `/v1/matches/${id}`);
    const [own, opponent] = await Promise.all([player(match.own_id), player(match.opponent_id)]);
    const names = { own: own.label, opponent: opponent.label };
    Object.assign(now, { match, names, facts: { own: own.facts, opponent: opponent.facts } });
    await Promise.all([refreshScore(id), refreshTries(id), openSeen(id)]);
  } catch (error) {
    if (error instanceof Refused && error.status === 404) forget(id);
    if (!(error instanceof Unreachable) || !now.match) throw error;
    openSeen(id).catch(() => {});
  }
  save();
}

const player = async (id) => (id ? (await ask("GET", `/v1/players/${id}`)).body : { label: "erased", facts: {} });

/** What is known of a fact: said for this match, or kept with the player; null where nothing is. */
export function factOf({ post_in: place, id }) {
  const name = id.slice(id.indexOf(".") + 1);
  return now.match[place]?.[name] ?? now.facts?.[place]?.[name] ?? null;
}

async function refreshScore(id) {
  const { body } = await ask("GET", `/v1/matches/${id}/score`);
  if (now.match?.id !== id) return;
  const before = now.moment;
  Object.assign(now, { score: body.score, moment: now.match.status === "ended" ? "after-match" : body.moment });
  save();
  tell("score", { before });
}

async function refreshTries(id) {
  const kept = await all(`/v1/matches/${id}/tries?page_size=100`);
  if (now.match?.id !== id) return;
  now.tries = standing(kept).map((entry) => entry.tries);
  save();
  tell("score", {});
}

hear("queue", ({ kind, item, answer }) => {
  if (!now.match || item.match !== now.match.id) return;
  if (item.noun === "points") tell("score", {});
  if (kind === "added" && item.change) now.match = { ...now.match, ...merged(now.match, item.change) };
  if (kind !== "kept") return;
  const again = { points: refreshScore, tries: refreshTries }[item.noun];
  Promise.resolve(again?.(item.match)).catch(() => {}).then(() => tell("kept", item));
  if ((item.noun === "facts" || item.noun === "end") && answer) {
    now.match = answer;
    save();
    tell("match");
    if (item.noun === "end") refreshScore(item.match).catch(() => {});
  }
});

const waitingOf = (noun) => queue.waiting().filter((item) => item.match === now.match?.id && item.noun === noun);

/** Points that wait here and are not in the score yet. */
export const waitingPoints = () => waitingOf("points");

/** How often a tactic was tried and won, waiting tries included: {tried, won}. */
export function triesOf(tactic) {
  const waiting = waitingOf("tries").map((item) => item.body).filter(Boolean);
  const of = [...now.tries, ...waiting].filter((body) => body.tactic === tactic);
  return { tried: of.reduce((sum, body) => sum + body.tried, 0), won: of.reduce((sum, body) => sum + body.won, 0) };
}

/** The moment to ask advice for: before the match until something of it was seen or its warm-up runs; with points that are
 * not in the score yet the least of all moments. */
export function momentNow() {
  if (now.moment !== "after-match" && waitingPoints().length) return "between-points"; // more may be permitted at a break
  const before = now.moment === "after-warm-up" && !seenAnything() && !new Clock(now.match.id).running;
  return before ? "before-match" : now.moment;
}

/** Whether the event lets advice be read at this moment, by what was said of it. The service judges too, and counts. */
export function mayRead(moment = momentNow()) {
  const { coaching = "unknown", device = "unknown" } = now.match?.context ?? {};
  const inPlay = permitted.permitted.includes(moment);
  return !inPlay || ((permitted[coaching] ?? []).includes(moment) && device !== "nobody");
}

/** Choose what to play, null for nothing. */
export function setPlan(plan) {
  now.plan = plan;
  save();
  tell("match");
}

/** Leave the match. */
export function close() {
  Object.assign(now, FRESH);
  closeSafety();
}
