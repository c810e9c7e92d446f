"""Processes killed in the middle of an act, and many at work at once, on databases of their own."""
