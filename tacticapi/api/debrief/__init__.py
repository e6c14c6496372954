"""What a finished match leaves to learn, as JSON, as Markdown and as a page to print; its entries for a spreadsheet."""
