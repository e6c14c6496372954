"""Load rule files into a rulebook and match facts against it. No other folder knows about YAML or the engine."""
