"""What do the neighbours see?  Figures and entries to pages, charts and side files."""
