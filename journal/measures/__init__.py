"""How much, and how sure?  Units, numbers as people write them, doubt, and periods of time."""
