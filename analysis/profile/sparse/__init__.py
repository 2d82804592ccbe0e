"""The same equations with one sparse factor, for large houses whose sessions are loosely tied.

Given mu, the assessors' offsets and the samples that were nosed in many sessions (the *border*),
what is left couples a sample with the sessions it stood in and little else. `pattern` says which
unknowns meet, `factor` factors them, `inverse` finds the entries of the inverse on the factor's
pattern, `system` solves, and `moments` and `predict` say how sure each effect is: exactly, where
the dense way of a large house draws random columns.
"""
