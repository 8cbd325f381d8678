"""The weight of wheels: how they dry in the air where they stand, and what they will weigh; pure.

For a notebook: `exposure.exposed` turns the air of where a wheel stood into what pulled at its rind, `to_come` adds the
air that is thought to come, `fit.fitted` learns how easily this wheel gives off water, `forecast.foretold` says what it
will weigh, `advice` when to cover it or where to move it, `setting.suits` which humidity suits all wheels of a cave.
Each works on plain arrays and values.
"""
