// What the form of a new match offers, and what its answers mean for the API.

export const FORMATS = [
  ["best-of-3", "best of three sets", {}],
  ["match-tie-break", "two sets, then a match tie-break to 10", { final_set: "match-tie-break-10" }],
  ["best-of-5", "best of five sets", { sets: 5 }],
  ["one-set", "one set", { sets: 1 }],
  ["short-sets", "best of three short sets to 4", { games: 4 }],
];

// [id, label, pairs] of items of the context
export const CHECKS = [
  ["coaching", "Coaching", [
    ["unknown", "not known"], ["permitted", "permitted"],
    ["change-of-ends-and-set-break", "at changes of ends and set breaks"],
    ["set-break", "at set breaks only"], ["not-permitted", "not permitted"],
  ]],
  ["device", "Who may look at a device", [
    ["unknown", "not known"], ["coach", "the coach"], ["player", "the player"], ["nobody", "nobody"],
  ]],
  ["age-band", "Age band (of the younger player)", [
    ["", "not known"], ["U12", "U12"], ["U14", "U14"], ["U18", "U18"], ["open", "adult"], ["50+", "50+"], ["70+", "70+"],
  ]],
];

/** {own, opponent, match} of the form: players as {label, facts}, the match as the API takes it. */
export function readMatch(form) {
  const value = (id) => form.querySelector(`#${id}`).value.trim();
  const on = (id) => form.querySelector(`#${id}`).checked;
  const abilities = [...form.querySelectorAll("[data-own]")].filter((select) => select.value);
  const format = FORMATS.find(([id]) => id === value("format"))[2];
  const context = said({
    surface: value("surface"), coaching: value("coaching"), device: value("device"), age_band: value("age-band"),
  });
  const rated = abilities.map((select) => [select.dataset.own, Number(select.value)]);
  return {
    own: { label: value("own-label"), facts: said({ handedness: value("own-hand"), ...Object.fromEntries(rated) }) },
    opponent: { label: value("opponent-label"), facts: said({ handedness: value("opponent-hand") }) },
    match: {
      context: { ...context, format: { ...format, no_ad: on("no-ad") } },
      ...said({ first_server: value("first-server") }),
    },
  };
}

/** Only what was said. */
const said = (facts) => Object.fromEntries(Object.entries(facts).filter(([, value]) => value !== ""));
