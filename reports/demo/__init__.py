"""The demo: a fictitious record, told in ``fixtures/demo`` and acted out through the product's own acts."""
