"""The plan and the lines as kept in a printed file: written, read and checked in one place."""
