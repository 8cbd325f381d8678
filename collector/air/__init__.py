"""From raw channels to the air of a place: the same for rules, pages, weight and look-back."""
