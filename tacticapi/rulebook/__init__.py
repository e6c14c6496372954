"""Rule files to rulebook, and rulebook to firings: the only folder that knows YAML rules and the rule engine."""
