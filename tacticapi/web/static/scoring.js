// The score from the points, in every format that the service knows, so that it can be kept without a connection. The
// service follows the same law (Rules of Tennis, Rules 5 to 7, 10 and appendix V); a test checks that both agree.
//
// A state is {sets, games, points, server}: pairs are [own, opponent], points are counted, 3 for 40 and 4 for AD.

const SIDES = ["own", "opponent"];
const CALLS = ["0", "15", "30", "40", "AD"];
const FORTY = 3;
const SHORT_TIE_BREAK = 5; // has a deciding point, and changes ends once
const other = (side) => (side && SIDES[1 - SIDES.indexOf(side)]);
const sum = ([own, opponent]) => own + opponent;
const plusOne = (pair, side) => pair.map((n, place) => n + (SIDES[place] === side ? 1 : 0));
const leads = ([own, opponent]) => (own > opponent ? "own" : "opponent");
const byTwo = (to, pair) => {
  const [high, low] = [Math.max(...pair), Math.min(...pair)];
  return (high === to && low <= to - 2) || (high > to && high - low === 2);
};

/** What ends the set with this index: {games, at, tieBreak}; a match tie-break is a set of no games. */
function ruleOf(format, index) {
  const { sets = 3, games = 6, set = "tie-break-7", final_set: final, tie_break_points: short } = format;
  const kind = index === sets - 1 ? final ?? set : set;
  if (kind === "advantage") return { games, at: null, tieBreak: null };
  if (kind.startsWith("match-tie-break")) return { games: 0, at: 0, tieBreak: kind.endsWith("-10") ? 10 : 7 };
  const tieBreak = kind === "tie-break-10" ? 10 : short ?? (games === 4 ? SHORT_TIE_BREAK : 7);
  return { games, at: format.tie_break_at ?? games, tieBreak };
}

export const start = (server) => ({ sets: [], games: [0, 0], points: [0, 0], server: server ?? null });

/** Who has won the match, null while it is undecided. */
export function winnerOf({ sets }, { sets: most = 3 }) {
  return SIDES.find((side) => sets.filter((set) => leads(set) === side).length > most / 2) ?? null;
}

function inTieBreak({ games }, rule) {
  return rule.tieBreak !== null && games[0] === games[1] && games[0] === rule.at;
}

/** Whether the next point decides the game for either player. */
export function isDeciding(state, format) {
  if (winnerOf(state, format)) return false;
  const rule = ruleOf(format, state.sets.length);
  if (inTieBreak(state, rule)) return rule.tieBreak === SHORT_TIE_BREAK && state.points.every((n) => n === SHORT_TIE_BREAK - 1);
  return Boolean(format.no_ad) && state.points.every((n) => n === FORTY);
}

/** The state after the next point; null if no point can follow. */
export function after(state, winner, format) {
  if (winnerOf(state, format)) return null;
  const rule = ruleOf(format, state.sets.length);
  const tieBreak = inTieBreak(state, rule);
  const points = plusOne(state.points, winner);
  const lead = Math.abs(points[0] - points[1]);
  const over = tieBreak
    ? Math.max(...points) >= rule.tieBreak && (lead >= 2 || rule.tieBreak === SHORT_TIE_BREAK)
    : Math.max(...points) > FORTY && (lead >= 2 || format.no_ad);
  if (over) return afterGame(state, winner, points, rule, format);
  if (tieBreak) return { ...state, points, server: sum(state.points) % 2 === 0 ? other(state.server) : state.server };
  return { ...state, points: Math.min(...points) > FORTY ? [FORTY, FORTY] : points };
}

function afterGame(state, winner, points, rule, format) {
  const firstServes = !inTieBreak(state, rule) || Math.floor((sum(state.points) + 1) / 2) % 2 === 0;
  const server = firstServes ? other(state.server) : state.server; // not the player who served the first point of the game
  const games = plusOne(state.games, winner);
  const isResult = rule.at === null ? byTwo(rule.games, games) : Math.max(...games) === rule.at + 1 && Math.min(...games) === rule.at || Math.max(...games) <= rule.at + 1 && byTwo(rule.games, games);
  if (rule.games && !isResult) return { ...state, games, points: [0, 0], server };
  const ended = { sets: [...state.sets, rule.games ? games : points], games: [0, 0], points: [0, 0], server };
  return winnerOf(ended, format) ? { ...ended, server: null } : ended;
}

/** Whether players change ends exactly here, before the next point. */
export function endsChange(state, format) {
  const rule = ruleOf(format, state.sets.length);
  if (winnerOf(state, format)) return false;
  const played = sum(state.points);
  if (!played) {
    const last = state.sets.length - 1;
    if (sum(state.games)) return sum(state.games) % 2 === 1;
    return last >= 0 && (ruleOf(format, last).games ? sum(state.sets[last]) % 2 === 1 : true);
  }
  if (!inTieBreak(state, rule)) return false;
  if (rule.tieBreak === SHORT_TIE_BREAK) return played === SHORT_TIE_BREAK - 1;
  return format.tie_break_ends === "after-1-then-every-4" ? played % 4 === 1 : played % 6 === 0;
}

/** The moment exactly at this score; null is before the first point. */
export function momentOf(state, format) {
  if (!state) return "after-warm-up";
  if (winnerOf(state, format)) return "after-match";
  if (state.sets.length && !sum(state.games) && !sum(state.points)) return "set-break";
  return endsChange(state, format) ? "change-of-ends" : "between-points";
}

/** The court that the next point is served to; null if the receiver chooses. */
export const courtOf = (state, format) => (isDeciding(state, format) ? null : sum(state.points) % 2 ? "ad" : "deuce");

/** The score in the service's form. */
export function written(state, format) {
  const tieBreak = inTieBreak(state, ruleOf(format, state.sets.length)) && !winnerOf(state, format);
  return { ...state, points: state.points.map((n) => (tieBreak ? String(n) : CALLS[n])) };
}

/** The state of a score; null if its points are impossible in the game in progress, which the service refuses. */
export function read({ sets = [], games = [0, 0], points = ["0", "0"], server }, format) {
  const tieBreak = inTieBreak({ games }, ruleOf(format, sets.length));
  const counted = points.map((word) => (tieBreak ? Number(word) : CALLS.indexOf(word)));
  if (!counted.every((n) => n >= 0)) return null;
  return { sets, games, points: counted, server: winnerOf({ sets }, format) ? null : server ?? null };
}

/** The state after the valid entries, null without any. An entry that cannot follow is skipped. */
export function scoreOf(bodies, format, firstServer) {
  return bodies.reduce((state, body) => {
    if (body.score) return read(body.score, format) ?? state;
    return after(state ?? start(firstServer), body.winner, format) ?? state;
  }, null);
}
