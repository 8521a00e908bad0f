"""Tests of the planning room."""
