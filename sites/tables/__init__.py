"""Tables: they declare columns and say how a cell reads."""
