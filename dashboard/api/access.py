"""Who may use the API: whoever is signed in. What a token of its own may do joins here."""

from dashboard.visit import Guest

ApiReader = Guest
