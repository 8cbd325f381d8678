"""The mail library, loaded once."""

import importlib
import warnings

# Apprise's e-mail part loads a module that Python 3.13 leaves out, with a warning; it is loaded here without.
with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    importlib.import_module("apprise.plugins.email")
