"""The club of the token: how long it keeps what was seen, everything of it as an export, and players erased."""
