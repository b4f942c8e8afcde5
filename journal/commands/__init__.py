"""What does the keeper do?  One module a command, and the only code that touches files."""
