"""Tests of the workroom."""
