"""Any past day again."""
