"""The tool against files nobody here made: fuzzing, kills, a corpus."""
