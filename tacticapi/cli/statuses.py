"""With what a command ends, told to the shell; the one place for it."""

CANNOT = 1  # it cannot be done now
FAULTY = 2  # what was given cannot be used
DIFFERS = 3  # done, and something would differ

MEANINGS = {
    0: "done",
    CANNOT: "it cannot be done now: the rules or the database cannot be used, there is no such club, the file exists "
    "already, or a question was answered with no",
    FAULTY: "what was given cannot be used: an option, a situation, a file to import, an address to listen on",
    DIFFERS: "replay alone: done, and some advice would differ",
}
EPILOG = "Exit statuses: " + "; ".join(f"{status} {meaning}" for status, meaning in MEANINGS.items()) + "."
