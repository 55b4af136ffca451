"""From the need to the day's dose: what stops it, its hours, the year, salt and water."""
