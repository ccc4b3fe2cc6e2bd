"""Tests of the floor: rooms, laps, strides, commands."""
