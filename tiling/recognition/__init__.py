"""What a drawing shows without saying so: pieces, roles of lines, folds, copies, edges, seams, each as a guess."""

from tiling.recognition.understand import understood
from tiling.recognition.understanding import SURE, Guess, LineSeen, PieceSeen, Understanding

__all__ = ["SURE", "Guess", "LineSeen", "PieceSeen", "Understanding", "understood"]
