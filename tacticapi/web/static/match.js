// The open match: what the service says about it, what is waiting here, and a copy of both for offline use.

import { Refused, Unreachable, ask } from "./api.js";
import { hear, tell } from "./bus.js";
import { Clock } from "./clock.js";
import { merged } from "./deliver.js";
import { queue, takeBackAll } from "./entries.js";
import * as keep from "./keep.js";
import { permitted } from "./kinds.js";
import { Ledger } from "./ledger.js";
import { closeSafety } from "./safety.js";
import { courtOf, isDeciding, momentOf, scoreOf, written } from "./scoring.js";
import { openSeen, seenAnything } from "./seen.js";

const FRESH = { match: null, names: null, facts: null, score: null, court: null, deciding: false, moment: "after-warm-up", plan: null, advice: null, last: null, looks: null };
const KEPT = ["match", "names", "facts", "plan", "last"];
const SIDES = ["own_id", "opponent_id"];
const ON_DEVICE = ["match", "log", "observations", "points", "tries", "clock", "advised", "safety", "list"];

/** The state; views read it and never write it. The score follows from the points, including those waiting here. */
export const now = { ...FRESH };

const points = new Ledger("points", "point", "played");
const tries = new Ledger("tries", "tries", "tried");
let at = null; // the open match, while responses about another may still arrive
let revision = null; // the revision last read

/** Keep the state on this device until the match has ended and everything has been sent. */
function save() {
  if (!now.match) return;
  const { id, status } = now.match;
  if (status === "ended") closeSafety(id); // its debrief can be read
  if (status === "ended" && !queue.waiting().some((item) => item.match === id)) forget(id);
  else keep.write(`match/${id}`, Object.fromEntries(KEPT.map((name) => [name, now[name]])));
}

function forget(id) {
  for (const name of ON_DEVICE) keep.drop(`${name}/${id}`);
}

/** Open a match. Throws Unreachable if neither service nor device has it, Refused if the service refuses. */
export async function open(id) {
  Object.assign(now, FRESH, keep.read(`match/${id}`, {}));
  [at, revision] = [id, null];
  for (const ledger of [points, tries]) ledger.recall(id);
  if (now.match) count();
  try {
    await read(id, true);
  } catch (error) {
    if (error instanceof Refused && error.status === 404) forget(id);
    if (!(error instanceof Unreachable) || !now.match || at !== id) throw error;
    openSeen(id).catch(() => {});
  }
  save();
}

/** Take over the match, its new entries, and its players if they may have changed. */
async function read(id, opened = false) {
  const [{ body }, { body: match }] = await Promise.all([ask("GET", `/v1/matches/${id}/score`), ask("GET", `/v1/matches/${id}`)]);
  const same = !opened && SIDES.every((side) => match[side] === now.match?.[side]);
  const [own, opponent] = same ? [] : await Promise.all(SIDES.map((side) => player(match[side])));
  if (at !== id) return;
  now.match = match;
  if (own) Object.assign(now, { names: { own: own.label, opponent: opponent.label }, facts: { own: own.facts, opponent: opponent.facts } });
  await Promise.all([points.refresh(id, body.revision), tries.refresh(id, body.revision), openSeen(id, body.revision)]);
  if (at === id) revision = body.revision;
}

const player = async (id) => (id ? (await ask("GET", `/v1/players/${id}`)).body : { label: "erased", facts: {} });

/** The value of a fact: set for this match, or stored with the player; null if unknown. */
export function factOf({ post_in: place, id }) {
  const name = id.slice(id.indexOf(".") + 1);
  return now.match[place]?.[name] ?? now.facts?.[place]?.[name] ?? null;
}

/** Take over entries from other devices. The browser sends the score's ETag, so usually nothing is transferred. */
export async function poll() {
  if (!now.match || now.match.status === "ended") return;
  const { id } = now.match;
  const { body } = await ask("GET", `/v1/matches/${id}/score`);
  if (now.match?.id !== id || body.revision === revision) return;
  await read(id);
  if (at !== id) return;
  save();
  tell("match");
  tell("others");
}

/** Work out the score from the valid points, and what follows from it. */
function count() {
  if (points.match !== now.match?.id) return;
  const before = now.moment;
  const format = formatNow();
  const state = scoreOf(points.entries.map((entry) => entry.body), format, now.match.first_server);
  now.score = state && written(state, format);
  now.moment = now.match.status === "ended" ? "after-match" : momentOf(state, format);
  now.court = state && courtOf(state, format);
  now.deciding = Boolean(state) && isDeciding(state, format);
  tell("score", { before });
}

const formatNow = () => now.match.context.format ?? {};

hear("played", () => { if (now.match) count(); });
hear("tried", () => { if (now.match) tell("score", {}); });
hear("queue", ({ kind, item, answer }) => {
  if (!now.match || item.match !== now.match.id) return;
  if (kind === "added" && item.change) {
    now.match = { ...now.match, ...merged(now.match, item.change) };
    count();
  }
  if (kind === "refused") poll().catch(() => {}); // another device may have ended the match
  if (kind !== "kept") return;
  if (answer?.sequence === revision + 1) revision += 1;
  else if (answer?.sequence) poll().catch(() => {}); // another device entered something
  if ((item.noun === "facts" || item.noun === "end") && answer) {
    now.match = answer;
    save();
    count();
    tell("match");
  }
  if (now.match.status === "ended") save();
  tell("kept", item);
});

/**
 * Points entered here while another device entered points not yet known here: {own, others}, the latter a number; null if
 * there are none. They may be the same points.
 */
export function twice() {
  const mine = points.entries.filter((entry) => entry.after !== undefined && entry.body.winner);
  const strangers = points.entries.filter((entry) => entry.after === undefined && entry.body.winner);
  const between = (own) => strangers.filter((other) => other.sequence > own.after && other.sequence < own.sequence);
  const own = mine.filter((entry) => entry.sequence && !entry.settled && between(entry).length);
  const others = new Set(own.flatMap(between));
  return own.length ? { own, others: others.size } : null;
}

/** Settle these: they are the same points, so this device's points go; or all of them were played. */
export function settleTwice({ own, others }, same) {
  const gone = same ? own.slice(0, others) : [];
  points.note(own.map((entry) => entry.key), { settled: true });
  for (const entry of gone) takeBackAll(now.match.id, { ...entry, noun: "points", words: "Entered on two phones" });
}

/** How often a tactic was tried and won since it became the plan, including waiting tries: {tried, won}. */
export function triesOf({ tactic, since = null }) {
  const later = ({ set, game }) => !since || game === undefined || set > since.set || (set === since.set && game >= since.game);
  const of = tries.entries.map((entry) => entry.body).filter((body) => body.tactic === tactic && later(body));
  return { tried: of.reduce((sum, body) => sum + body.tried, 0), won: of.reduce((sum, body) => sum + body.won, 0) };
}

/** Whether entries of these nouns are waiting: the service's response does not include them. */
export const waits = (nouns) => queue.waiting().some((item) => item.match === now.match?.id && nouns.includes(item.noun));

/** The moment to request advice for: before the match until something is seen or the warm-up is running. */
export function momentNow() {
  const before = now.moment === "after-warm-up" && !seenAnything() && !new Clock(now.match.id).running;
  return before ? "before-match" : now.moment;
}

/** Whether the event lets advice be read now, from what was entered. The service also checks, and its verdict counts. */
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

/** Make this the advice shown, null for none; the last permitted advice stays for when there is no connection. */
export function setAdvice(advice) {
  now.advice = advice;
  if (!advice || advice.plan) now.last = advice;
  if (now.match) save();
  tell("advice");
}

/** Leave the match. */
export function close() {
  Object.assign(now, FRESH);
  at = null;
  closeSafety();
}
