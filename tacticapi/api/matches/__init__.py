"""Matches of the club: who plays whom, where and under which rules, the score, the end."""
