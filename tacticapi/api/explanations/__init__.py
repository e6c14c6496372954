"""Advice with the whole trace behind it: facts, fired rules, why and why not."""
