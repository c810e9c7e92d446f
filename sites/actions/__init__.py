"""What people do to the register and about people: an act is one transaction with its log entry."""
