"""What people do at and about inspections. Each act is one transaction and writes its own log entry."""
