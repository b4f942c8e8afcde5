"""What each page says, as plain values: texts, numbers, lists and tables, which templates lay out."""
