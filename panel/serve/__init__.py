"""The booth in a browser: plain pages made here, on what `panel.seat` knows; no page fetches more.

door.py      where the server listens, and which requests are its own
guard.py     every request is looked at before anything else sees it
joining.py   the join code, and how often one may guess
callers.py   who asks: a browser that joined, a seat that came back by its token
forms.py     a form that came in, as deeds
pages.py     a tray as a page
app.py       the answers
running.py   the server itself, and the terminal it was started from
"""
