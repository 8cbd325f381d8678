"""Warnings as a person sees them: told in words, counted, judged right or false."""
