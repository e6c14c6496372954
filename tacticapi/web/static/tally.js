// What was seen of one kind, in words.

import { RATINGS } from "./kinds.js";
import { many } from "./words.js";

/** "7 of 9 chances"; "wide 3, T 4"; "last: 1, a little". `seen` is as seenOf tells it. */
export function tallyWords(kind, seen) {
  if (!seen.entries) return "Not seen yet.";
  const parts = [];
  if (seen.of) parts.push(`${seen.count} of ${many(seen.of, "chance")}`);
  const counts = Object.entries(seen.counts).map(([word, n]) => `${word} ${n}`);
  if (counts.length) parts.push(counts.join(", "));
  if (seen.last !== null) parts.push(lastWords(kind, seen.last));
  return `${parts.join("; ")}.`;
}

function lastWords(kind, last) {
  if (typeof last === "boolean") return last ? "Last said: yes" : "Last said: no";
  if (typeof last === "object") return "Entered elsewhere in full";
  const rated = typeof last === "number" && kind.ways.includes("rating") && RATINGS[last] && last <= 4;
  return `Last said: ${last}${rated ? `, ${RATINGS[last]}` : ""}`;
}
