"""The page: a small local web application over the same library that the command line uses.

`serve` starts it; ``polepiece serve`` is its command. Nothing here computes: numbers come from the rooms below,
in processes of their own.

How to add a page
-----------------
1. Write ``pages/<name>.py`` with a `PAGE` and a ``build`` that registers it::

       from nicegui import ui
       from polepiece.app import theme
       from polepiece.app.server.desk import Desk
       from polepiece.app.widgets.place import Place

       PAGE = Place(path="/grades", title="Grades", about="every grade in this very pickup")

       def build() -> None:
           @theme.page(PAGE)
           async def grades(guitar: str = "", pickup: str = "", position: str = "") -> None:
               desk = Desk.at(guitar, pickup, position=position)  # what this tab looks at; never fails on a bad id
               with theme.frame(PAGE, desk):                # header, links, chooser, skip link, <main>
                   ...

   Parameters of the page function are the query string: ``/grades?guitar=1&pickup=neck``. Addresses carry what is
   looked at, so that a reload or a second tab shows the same; make them with ``desk.address(PAGE.path)``.
2. Add the module to ``PAGES`` in ``pages/__init__.py``. Only then is it linked: there are no dead links. A page that
   another one leads to says ``linked=False``; one that can do without a guitar on record ``needs_guitar=False`` (all
   others lead to the Bench then); a step of a job ``in_job=True``: it stands in the header's strip, and
   `app.sheet.how_far` tells when it has its tick.

What a page uses
----------------
`desk.Desk`
    ``desk.guitar`` (a `guitar.Guitar`), ``desk.chosen`` (the chosen pickup), ``desk.stock`` (the state to compare
    with); ``desk.try_out([texts])`` gives the guitar after moves, by the rules of the command line;
    ``await desk.record(guitar, why)`` makes it the new state. Both may refuse: show ``str(error)`` with
    ``widgets.Fault``, beside the field.
`shared.room()`
    What the server holds: ``room().live`` and ``room().jobs``, the ``room().notebook``. `boxes.guitar_in` reads an
    uploaded guitar file with all its faults.
`shared.written`
    ``await written(lambda: room().notebook.write_note(...))``: every write goes through it, in a thread of its own and
    in order, because another program may hold the file for seconds. Reading is quick and needs none.
`live.Live`
    ``await room().live.ask(lane, "state", guitar, pickup)`` answers within a tenth of a second from a warm process, or
    returns None when a newer question of the same lane has replaced it (`Desk.lane` names one for this tab).
`jobs.Jobs`
    ``job = room().jobs.run("grades", guitar, pickup, on_progress=show)``, then ``await job`` or ``job.stop()``. Kinds
    of work are the functions of `worker.WORK`: add yours there, with the numbers it returns as plain records.
    `widgets.Working` shows a job's progress and its stop button: ``result = await working.follow(job)``.
`under_way.AllUnderWay`
    ``room().under_way.begin(name, words, start, keep)``: a job whose result is kept even if its tab is closed;
    ``get(name)`` finds it again from any tab. ``desk.heard_of(guitar)`` is the position of the switches as the library
    and the questions of `Live` take it.
`curves.Curves`
    Response curves with their legend, reading line, summary in words and CSV button.
`theme`, `widgets`
    `theme.frame`; `widgets.press`, `choice`, `amount`, `table`, `Fault`. Colours and line styles are the classes
    ``.c-stock``, ``.c-now``, ``.c-0`` ... of ``static/polepiece.css``; both themes come from its variables.

Tests: ``tests/app/conftest.py`` has ``page_of`` (a page without a browser) and ``web`` (a server and Chromium).
"""

from polepiece.app.server.address import Address, bind, read_token
from polepiece.app.server.front import serve
