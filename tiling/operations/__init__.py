"""The jobs: one module each, from a request of values to a result of values; nothing is written anywhere."""
