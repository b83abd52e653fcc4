"""Durations and times. Facts only: whether a time is good is judged by the rules."""
