// The vocabulary as the page asks for it: which kinds, in which order, and the words on the buttons.

const data = JSON.parse(document.getElementById("page-data").textContent);

export const kinds = data.kinds;
export const permitted = data.permitted;
export const signs = data.signs;
const byId = new Map(kinds.map((kind) => [kind.id, kind]));

export const kindOf = (id) => byId.get(id);
export const keyOf = (kind) => kind.id.slice(kind.subject.length + 1);

const SUBJECTS = {
  own: "Your player", opponent: "The opponent", quality: "Overall ratings", context: "Court and weather", warmup: "Warm-up", serve: "Their serve",
  return: "Their return", rally: "Rallies", net: "At the net", passing: "Passing and lobs", movement: "Movement",
  pressure: "Under pressure", tempo: "Tempo", conduct: "Conduct", body_language: "Body language", physical: "Danger signs",
};
export const subjectWords = (subject) => SUBJECTS[subject] ?? subject;

// A count is two buttons: the chance on which it happened, and the chance on which it did not.
const PAIRS = [
  [/unreturned/, ["Not returned", "Returned"]],
  [/error_kind/, ["Unforced", "Forced"]],
  [/mishits/, ["Mishit", "Clean hit"]],
  [/_on_forehand$/, ["Forehand", "Backhand"]],
  [/ran_round/, ["Ran round it", "Hit a backhand"]],
  [/(^|\.)(first_serves|serves)_in$|_made$|return\.(fore|back)hand_in$/, ["In", "Not in"]],
  [/points_won$|diagonal|brought_in|drop_reply|points_after|points_by_phase/, ["They won it", "They lost it"]],
  [/against_(?!mixed)|on_the_run|movement\.(forward|back)$|no_pace/, ["Handled", "Not handled"]],
  [/corner_|late_running/, ["Reached", "Not reached"]],
  [/errors|err_|missed/, ["Error", "No error"]],
  [/double_faults/, ["Double fault", "Serve in"]],
  [/hurts|punishes/, ["Attacked", "Not attacked"]],
  [/depth|deep_returns/, ["Deep", "Short"]],
  [/_short$/, ["Short", "Not short"]],
  [/followed|approach/, ["Came in", "Stayed back"]],
];
const PLAIN = ["Yes", "No"];
const WITH_TWO_TAPS = "physical.cleared"; // asked only on the safety screen

/** The words on the two buttons of a count. */
export const pairOf = (kind) => PAIRS.find(([pattern]) => pattern.test(kind.id))?.[1] ?? PLAIN;

// What the ratings 0 to 4 are called, by the first words of the question.
const SCALES = [
  [/^How much pain/, ["none", "mild", "moderate", "bad", "severe"]],
  [/^How much/, ["almost none", "a little", "some", "a lot", "a great deal"]],
  [/^How often/, ["almost never", "rarely", "sometimes", "often", "very often"]],
  [/^How (fast|quickly)/, ["very slow", "slow", "average", "fast", "very fast"]],
  [/^How high/, ["very low", "low", "average", "high", "very high"]],
  [/^How (?!well|good|long)/, ["not at all", "a little", "fairly", "quite", "very"]],
];
const ABILITY = ["very poor", "poor", "average", "good", "very good"];

/** The words for a kind's ratings 0 to 4. */
export const ratingsOf = (kind) => SCALES.find(([pattern]) => pattern.test(kind.asks))?.[1] ?? ABILITY;

// Danger signs whose option says too little by itself.
const SIGN_WORDS = new Map([["breathing", "trouble breathing"], ["leg", "leg cannot bear weight"]]);

/** An option in the page's words. */
export const wordOf = (option) => SIGN_WORDS.get(option) ?? option;

/** Kinds to ask in this phase ("warm_up" or "games"), the starter set first. */
export function asked(phase, { subject = "", words = "" } = {}) {
  const sought = words.toLowerCase().split(/\s+/).filter(Boolean);
  const fits = (kind) => {
    const text = `${kind.title} ${kind.coach.asks} ${subjectWords(kind.subject)}`.toLowerCase();
    return kind[phase] && kind.subject !== "own" && kind.id !== WITH_TWO_TAPS && (!subject || kind.subject === subject) && sought.every((w) => text.includes(w));
  };
  return kinds.filter(fits).sort((a, b) => (a.starter ?? 1000) - (b.starter ?? 1000));
}

/** What must always be one tap away, whatever else is asked: it may stop the match. */
export const DANGERS = ["physical.warning_sign", "context.thunder", "context.heat", "own.pain_now", "own.pain_site"].map(kindOf).filter(Boolean);

/** Subjects that have a question in this phase, in vocabulary order. */
export function subjects(phase) {
  return [...new Set(kinds.filter((kind) => kind[phase] && kind.subject !== "own").map((kind) => kind.subject))];
}
