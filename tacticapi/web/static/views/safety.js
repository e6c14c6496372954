// Safety lines: before everything else, with a word beside the colour.

import { h } from "../dom.js";
import { sourceWords } from "../words.js";

/** The lines under headings of this level. */
export function safetyLines(lines, heading) {
  return lines.map((line) =>
    h(
      "article",
      { class: "safety" },
      h(heading, {}, "Safety first"),
      h("p", {}, h("strong", {}, line.say)),
      h("p", {}, line.why),
      line.caution ? h("p", {}, line.caution) : null,
      h("p", { class: "source" }, `Source: ${sourceWords(line.source)}`),
    ),
  );
}
