"""Case files: one JSON file in, one answer out, the database untouched."""
