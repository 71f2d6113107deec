"""Pictures as inline SVG, each with a takeaway in one line and a text alternative."""
