"""Probes as a person sees and settles them: where they hang, what they say, what could not be understood."""
