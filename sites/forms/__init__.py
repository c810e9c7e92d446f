"""Forms about people and their signing in."""
