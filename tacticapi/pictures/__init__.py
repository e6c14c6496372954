"""Draw data as SVG text with a text alternative. Colours follow the text around them: light, dark and print."""
