"""Tables of a spreadsheet: readings out as CSV, readings in from the keeper's own."""
