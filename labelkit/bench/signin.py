"""Signing in and out, and the check that every form is one of ours."""

from __future__ import annotations

import re

from flask import Flask, Response, flash, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.fieldwords import CAPTURE, told_fields
from labelkit.bench.people import WrongSignIn
from labelkit.bench.web import Bench
from labelkit.errors import LabelkitError
from labelkit.language import gettext as _
from labelkit.language import noop

# What a sign-in form carries along of a form that was sent when nobody was signed in any more; its photo does not fit.
_CARRIED = "carried-"
_PHOTO = "photo-lost"
_OPEN_TO_ALL = frozenset({"sign_in", "sign_in_form"})
# What may be read without a name: the first page, what a code opens, and what pages are made of. `last` answers a
# script, which follows no way to the sign-in, and refuses by itself.
_READ_BY_ALL = _OPEN_TO_ALL | {"home", "show", "data", "photo", "style", "bench_script", "font", "health", "last"}


def add_sign_in(app: Flask, bench: Bench) -> None:
    """Add the pages for signing in and out, and the check before everything that is read or sent.

    A page that is added later needs a name, unless it is named in `_READ_BY_ALL`.
    """

    @app.before_request
    def only_who_may() -> AnyResponse | None:
        if request.method in ("GET", "HEAD", "OPTIONS"):
            return None if request.endpoint in (None, *_READ_BY_ALL) else _way_in(bench)
        if bench.read_only:
            return _page(bench.fill("told.html", title=_("This screen only shows"), words=_(_READ_ONLY)), 403)
        if bench.people.is_from_elsewhere():
            # What it holds is not offered to be sent once more: somebody else wrote it.
            title = _("This form is of another site")
            return _page(bench.fill("told.html", title=title, words=_(_ELSEWHERE)), 403)
        typed = request.form.to_dict(flat=False)
        if request.endpoint in _OPEN_TO_ALL:
            return None if bench.people.form_is_ours() else _page(_sign_in_page(bench, {}, {"pin": _(_OLD_FORM)}), 403)
        if bench.people.name is None:
            then = {"then": request.path}
            return _page(_sign_in_page(bench, then, {}, carried=typed, photo=_brought_photo()), 401)
        if not bench.people.form_is_ours():
            again = _again_page(bench, _("Send it again"), request.path, typed, photo=_brought_photo())
            return _page(again, 403)
        return None

    @app.get("/sign-in")
    def sign_in_form() -> str:
        return _sign_in_page(bench, {"then": request.args.get("then", "/")}, {})

    @app.post("/sign-in")
    def sign_in() -> str | AnyResponse:
        form = request.form
        then = local_path(form.get("then", "/"))
        carried = {key.removeprefix(_CARRIED): form.getlist(key) for key in form.to_dict() if key.startswith(_CARRIED)}
        try:
            name = bench.people.sign_in(form.get("name", ""), form.get("pin", "").strip())
        except WrongSignIn as error:
            typed, faults = {"name": form.get("name", ""), "then": then}, {error.field: str(error)}
            return _page(_sign_in_page(bench, typed, faults, carried=carried, photo=_PHOTO in form), 403)
        if carried:
            return _again_page(bench, _("Send what you typed"), then, carried, photo=_PHOTO in form)
        flash(_("Signed in as {name}").format(name=name))
        return redirect(then, 303)

    @app.post("/sign-out")
    def sign_out() -> AnyResponse:
        bench.people.sign_out()
        return redirect(url_for("home"), 303)


_READ_ONLY = noop("Nothing can be written from here. Go to a bench, or to your phone.")
_ELSEWHERE = noop(
    "Nothing was written. Open the page at the bench's own address and send the form from there. Where a proxy stands "
    "in front of the bench, start it with --behind-proxy."
)
_OLD_FORM = noop("this form is from an earlier visit; fill it in once more")


def _way_in(bench: Bench) -> AnyResponse | None:
    """Return the way to the sign-in when nobody is signed in and the screen is not one for everybody to read."""
    if bench.may_read:
        return None
    return redirect(url_for("sign_in_form", then=request.full_path.rstrip("?")), 303)


def local_path(text: str) -> str:
    r"""Return a path of this bench, `/` for anything else.

    >>> local_path("/job/3"), local_path("//evil.example"), local_path("/\\evil.example"), local_path("https://x")
    ('/job/3', '/', '/', '/')
    """
    inside = text.startswith("/") and not text.startswith("//") and "\\" not in text and text.isprintable()
    return text if inside else "/"


def _sign_in_page(
    bench: Bench,
    typed: dict[str, str],
    faults: dict[str, str],
    carried: dict[str, list[str]] | None = None,
    *,
    photo: bool = False,
) -> str:
    fields = [(f"{_CARRIED}{name}", value) for name, value in _fields(carried or {})]
    fields += [(_PHOTO, "yes")] * photo
    shown = {"name": typed.get("name", ""), "then": local_path(typed.get("then", "/"))}
    has_pin = bench.store.doorway.pin_hash is not None
    title = _("Sign in")
    page = {"typed": shown, "faults": faults, "carried": fields, "photo": photo, "has_pin": has_pin}
    return bench.fill("sign_in.html", title=title, **page)


def _again_page(bench: Bench, title: str, path: str, typed: dict[str, list[str]], *, photo: bool) -> str:
    """Return the page that shows in words what was typed, to be sent once more; a photo is to be taken again."""
    fields = _fields(typed)
    told = told_fields(_named(bench, path, fields), captured=path.startswith(CAPTURE))
    form = dict(fields).get("form", "")
    return bench.fill(
        "again.html",
        title=title,
        about=_about(bench, path),
        form=form,
        path=path,
        fields=fields,
        told=told,
        photo=photo,
    )


def _about(bench: Bench, path: str) -> str:
    """Return the job and the part that a form is of, for who cannot see its page any more."""
    words = _("Job {number}")
    of_job, of_code = re.match(r"/job/(\d{1,9})/", path), re.fullmatch(r"/([^/]+)/(?:act|photo|receive)", path)
    if of_job:
        return words.format(number=of_job[1])
    try:
        view, each = bench.find(of_code[1] if of_code else "")
    except LabelkitError:  # sent again, it is told there
        return ""
    return f"{words.format(number=view.job.number)} · {each.step_words} {each.name}"


def _named(bench: Bench, path: str, fields: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return fields with an option of a job and what was chosen of it by their names."""
    job, typed = re.fullmatch(r"/job/(\d{1,9})/act", path), dict(fields)
    option = bench.lookup.view(int(job[1])).profile.options.get(typed.get("option", "")) if job else None
    if option is None:
        return fields
    names = {"option": option.name, "choice": option.choices.get(typed.get("choice", ""), "")}
    return [(name, names.get(name) or text) for name, text in fields]


def _brought_photo() -> bool:
    return any(each.filename for each in request.files.values())


def _fields(typed: dict[str, list[str]]) -> list[tuple[str, str]]:
    """Return the fields of a form that are sent once more: all but the key of the form."""
    return [(name, value) for name, values in typed.items() if name != "csrf" for value in values]


def _page(text: str, status: int) -> Response:
    return Response(text, status, mimetype="text/html")
