// Scores, moments and figures in words.

export const MOMENTS = {
  "before-match": "Before the match", "after-warm-up": "Warm-up", "between-points": "Between points",
  "change-of-ends": "Change of ends", "set-break": "Set break", "after-match": "After the match",
};

export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** The words as a sentence. */
export const sentence = (words) => `${capital(words)}.`;

/** The score in one sentence, own side first. */
export function scoreWords(score, names) {
  if (!score) return "No point yet.";
  const sets = score.sets.map((pair) => pair.join("-")).join(", ");
  const parts = [sets && `Sets ${sets}`, `games ${score.games.join("-")}`, `points ${score.points.join("-")}`];
  const serve = { own: `${names.own} serves`, opponent: `${names.opponent} serves` }[score.server];
  return sentence([parts.filter(Boolean).join(", "), serve].filter(Boolean).join("; "));
}

/** The set and game in progress, for what is seen now; empty before the first point. */
export function placeOf(score) {
  if (!score) return {};
  return { set: score.sets.length + 1, game: score.games[0] + score.games[1] + 1 };
}

const points = (share) => {
  const size = Math.abs(share * 100).toFixed(1);
  return `${size === "0.0" ? "" : share < 0 ? "−" : "+"}${size}`;
};

const SIZES = { large: "A large gain", some: "Some gain", small: "A small gain", unclear: "An unclear gain" };

/** What a suggestion is worth, in words; empty for a line that sends no ball. */
export function worthWords(worth) {
  if (!worth) return "";
  const tenths = Math.round(worth.pays_in * 10);
  return `${SIZES[worth.size]}: it pays against ${tenths < 10 ? tenths : "more than 9"} in 10 such players.`;
}

/** The numbers behind it. */
export function worthNumbers(worth) {
  const match = `${points(worth.match)} matches in 100 (from ${points(worth.match_low)} to ${points(worth.match_high)})`;
  return `In numbers: ${points(worth.point)} points in 100 and ${match}. They rest on model defaults and are not measured.`;
}

/** 2026-05-04, in this device's time: Swedish dates are written this way. */
export const dayWords = (at) => new Date(at).toLocaleDateString("sv");

/** 14:05, in this device's time. */
export const timeWords = (at) => new Date(at).toTimeString().slice(0, 5);

/** The source in words. */
export function sourceWords(source) {
  return [source.status, source.citation, source.backs].filter(Boolean).join(": ");
}

/** 4:05 */
export function clockWords(seconds) {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

export const many = (n, one, more = `${one}s`) => `${n} ${n === 1 ? one : more}`;
