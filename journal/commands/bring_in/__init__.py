"""``bring-in``: a spreadsheet's rows, or a phone's note, become entries."""
