"""Rule files to rulebook, and rulebook to firings: the only folder that knows YAML rules and the rule engine.

Not here: probabilities, gains, ranking, HTTP. Next: `load` (rule files read, checked and built), `facts` (what is
matched), `matcher` (what callers use), `vocabulary` (what may be posted).
"""
