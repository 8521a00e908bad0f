"""A taped sheet, read from photos of it: how far each page lies from where it should, at both ends of every join.

    photo --ground--> where the sheet lies --marks--> where each mark lies --solving--> how each page lies

A sheet is told as plain values (`printed.PrintedSheet`); nothing here knows how its pages were made.
"""
