"""Views: find, check, call, answer."""
