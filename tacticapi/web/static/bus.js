// What happens in one part of the page and is of interest in another. Names: queue (its state changed), kept (an entry is,
// and the score follows it), match (the match itself), score, seen (what was observed), safety (its state changed),
// sources (of its lines), advice, looks, finish (a match is about to end, or is not any more), demo (something was to be
// entered in the demo), stage (of the pad, in the demo), token (the service asks for one), drawn (a screen is), minute (of
// the warm-up begins).

const target = new EventTarget();

export function tell(name, detail = null) {
  target.dispatchEvent(new CustomEvent(name, { detail }));
}

/** Listen until the signal ends it: a view that is left must not go on listening. */
export function hear(names, listener, signal) {
  for (const name of names.split(" ")) target.addEventListener(name, (event) => listener(event.detail), { signal });
}
