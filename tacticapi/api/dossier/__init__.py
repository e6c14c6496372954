"""What is believed of an opponent across matches, as JSON and as Markdown."""
