"""Points of a match: who won each, or the score set by hand; the score follows."""
