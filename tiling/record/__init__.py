"""The plan and the lines as kept in a printed file: written, attached, found, read and checked."""
