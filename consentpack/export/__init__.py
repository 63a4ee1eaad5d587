"""Document tree to files."""
