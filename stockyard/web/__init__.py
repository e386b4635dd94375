"""The workshop app: parse, call a service, show. No route here holds a rule of the yard.

Adding a screen, say `kiln`:

1. `screens/kiln.py` holds `screen = Screen("kiln", "/kiln")` and its routes. A page is
   `@screen.page("/kiln")`, something a form does is `@screen.action("/kiln/empty")`. A page needs a reader
   and an action a maker unless they say otherwise (`Need`), and take 1 MB unless they say `at_most_mb`. A
   route is `def kiln(visit: Here) -> Response`, an action's `def empty(visit: Here, form: Form) ->
   Response`, each with a sentence of docstring; running numbers in addresses are `Whole`. Put "kiln" into
   `screens.SCREENS`, where its place in the navigation should be.
2. `templates/kiln.html` extends base.html, sets `here` to the screen's name, and fills `title` and `main`
   (and `head` for a script). A part that is fetched alone lies in templates/parts/ and is included by its
   page.
3. `texts/en/kiln.toml` holds every word of it, `entry` for the navigation. In templates `t("kiln.empty")`,
   for counts `tn("kiln.boards", n)`; in code `texts.text`. Tests find texts that are missing or unused.
4. `static/kiln.js`, if it has a script: one module for each page, importing from base.js (`send`, `get`,
   `settled`, `token`). It makes better what works without it; it gets words and addresses from data
   attributes.
5. `tests/web/test_kiln.py`, and its address in `tests/web/in_browser/screens.py`, from which the browser
   takes it through both widths, light and dark, and the accessibility engine.

What a route is given and answers with:

- `visit.open_work` goes to services, and writes this person's name beside every change; `visit.may_change`,
  `visit.ways` (mm or inches, light or dark), `visit.page(template, **context)`, `visit.see_other(path,
  said="...")` after an action, `visit.ask_for(kind, wanted, files)` for long work.
- `form` (forms.Filled): `text`, `texts`, `number`, `whole`, `length_mm`, `amount`, `day`, `choice`,
  `ticked`, `file`, `files`; then `form.check("Nothing was booked.")` raises every fault at once.
- In templates: `ways.size(l, w, t)`, and the filters `length`, `pct`, `money`, `day`, `moment`, `cubic_m`,
  `lineal_m`, `words`, `urlencode`; the macros of parts/form.html (`csrf` in every form that posts, `field`,
  `choice`, `faults`). A form that should ask twice carries `data-ask="..."`.
- Errors of services need no handling: `problems` tells them as a page or as problem details. Catch BadInput
  only to show a form again with its faults in place.
- A drawing of drawings/ stands in a page through `pages.drawing(svg)`, inside `<div class="drawing">`.
  There are no style attributes and no inline scripts: the policy in `headers` forbids them, and so should
  you.
- Long work: write how it is done in services/errand_kinds.py, name its texts in texts/en/errand.toml and
  where its result is seen in `errand_words`. Its page is /errand/NUMBER; scripts watch /api/errands/NUMBER.
- Two who change one board: `services.unchanged.if_unchanged(visit.open_work, number, marks)`, with the mark
  of `mark_of` carried in the form or in If-Match.

Adding to the JSON interface: `api/kiln.py` with `api = Api("kiln")` and its name in `api.NOUNS`; bodies are
`Given` models, values are made plain in `api.shapes`, answers go through `etags.answer_with_tag`.
"""
