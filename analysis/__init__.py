"""Computes: frames in, frozen result objects out; no database, no screen, no file.

Only :mod:`analysis.notebook` reads files: those that the program saves.

Two frames are the contract with whoever collects the data. They are written down here once.

*scores*: one row a score. The first six columns are required, the rest are filled with the
default named beside them when they are absent, so that a small DataFrame is enough.

==================== =====================================================================
column               what it holds
==================== =====================================================================
session              which session the glass was nosed in
assessor             who scored (a code or a pseudonym, never a person's name)
sample               what was in the glass; scores of one sample are pooled. For a cask it is
                     one draw: two draws of one filling at different dates are two samples
replicate            1, 2, ... when one assessor had the same sample more than once in a
                     session (blind duplicates are replicates)
descriptor           the note that was scored
score                the number as it was given, on scale_low to scale_high; missing when the
                     line was left blank (blank is never zero)
flight               part of the session (default 1)
held_on              date of the session (default missing)
draw                 name of the draw (default: missing)
filling              the filling it was drawn from (default: missing)
cask                 the cask of that filling (default: missing)
kind                 test, reference, warm_up, trial or market (default test)
batch                batch of a reference (default: missing)
drawn_on             date of the draw (default: missing)
age_years            age of the spirit when drawn (default: missing)
position             place in the serving order, 1 is first (default: missing)
descriptor_version   version of the descriptor's wording (default 1)
scale_low            number at the empty end of the line (default 0)
scale_high           number at the full end of the line (default 100)
status               kept, void, re-poured, knew_key, swap_suspected, in_training,
                     not_reached_before_the_close or off_the_line (default kept)
==================== =====================================================================

*casks*: one row a filling, as of a date: cask, filling, wood, previous, fill_number, size_l,
age_years, phenol_ppm, fill_abv, abv, bulk_l, lpa, make, site, warehouse, status, bars. Only
``cask`` and ``filling`` are needed by what is here so far. ``status`` is emptied, leaking, on
hold, reserved or filled; ``bars`` is a tuple of all that the records hold against using the
filling, see :mod:`analysis.bars`, and is made from the other columns where it is absent.

*draws*: one row a draw from a cask, with what is known of the filling on that day; see
:mod:`analysis.influences.covariates`. Influences and ageing take it beside a profile.

A session in own words has a frame of its own, with ``word`` in place of ``descriptor``: session,
assessor, sample, replicate, word, score (0 to 100), and any further column of *scores*. Words are
each assessor's own; the same word of two people is two words.

A quantity that cannot be computed is ``None`` with its reason in words beside it; bad input
raises an error of :mod:`analysis.errors`.
"""
