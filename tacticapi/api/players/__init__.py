"""Players of the club and opponents: a nickname or code, and playing facts."""
