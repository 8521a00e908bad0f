"""Putting files in their place safely: publishing, locks, copies of notes."""
