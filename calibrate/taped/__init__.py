"""A taped sheet, read from photos of it: how far each page lies from where it should, at both ends of every join.

    photo --rough_map--> where the sheet lies --registered--> where each mark lies --solved--> how each page lies

A sheet is told as plain values (`printed.PrintedSheet`); nothing here knows how its pages were made.
"""
