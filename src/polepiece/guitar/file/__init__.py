"""The guitar file: its keys, reader, writer, schema, and what is said of odd values."""
