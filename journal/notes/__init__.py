"""What did the keeper write?  Plain text to dated entries and records, each with its place."""
