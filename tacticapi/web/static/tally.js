// What was seen of one kind, in words.

import { RATINGS } from "./kinds.js";
import { many, sentence } from "./words.js";

/** "7 of 9 chances"; "wide 3, T 4"; "last: 1, a little". `seen` is as seenOf tells it. */
export function tallyWords(kind, seen) {
  if (!seen.entries) return "Not seen yet.";
  const parts = [];
  if (seen.of) parts.push(`${seen.count} of ${many(seen.of, "chance")}`);
  const counts = Object.entries(seen.counts).map(([word, n]) => `${word} ${n}`);
  if (counts.length) parts.push(counts.join(", "));
  if (seen.last !== null) parts.push(lastWords(kind, seen.last));
  return sentence(parts.join("; "));
}

function lastWords(kind, last) {
  if (typeof last === "boolean") return last ? "last said: yes" : "last said: no";
  if (typeof last === "object") return "entered elsewhere in full";
  const rated = typeof last === "number" && kind.ways.includes("rating") && RATINGS[last] && last <= 4;
  return `last said: ${last}${rated ? `, ${RATINGS[last]}` : ""}`;
}
