"""Draw data as SVG with a text alternative. Colours follow the surrounding text, in light mode, dark mode and print."""
