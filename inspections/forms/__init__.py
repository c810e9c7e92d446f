"""What people type about visits, before an act takes it."""
