"""Pages to hand on: answers, words and pictures as one self-contained HTML file each.

Each page is made by one function from answers that were asked for already; the command and the
desk call the same. What judges is said in the words of `panel.words` and of the verdicts.
"""
