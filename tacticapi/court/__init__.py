"""Calculate ball flight and court positions (metres, seconds, degrees, rpm) with numbers from rules/court.yaml."""
