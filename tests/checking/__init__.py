"""Tests of the room that checks photographs."""
