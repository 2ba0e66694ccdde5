"""`labelkit bench`: serving cards, and saying clearly when it cannot."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from werkzeug.security import check_password_hash

from labelkit.bench.app import create_app
from labelkit.store.jobs import Store
from tests.bench_app.hands import PIN, Page, with_pin
from tests.bench_app.workshop import SECRET, Answer, NoServer, Shell, code_of, ended_at_once, open_job, pump

ROOT = Path(__file__).parents[2]
START = "from labelkit.cli.main import run; run()"


def shop(folder: Path, *addresses: str, pin: bool = True) -> list[str]:
    """Make a store with a job for each address, and a PIN; return the code of each job's cover."""
    with Store(str(folder / "labelkit.sqlite"), secret=SECRET) as store:
        if pin:
            with_pin(store)
        return [code_of(open_job(store, pump(), address=address), "cover") for address in addresses]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def busy_port() -> Iterator[int]:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        yield int(taken.getsockname()[1])


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> NoServer:
    return ended_at_once(monkeypatch)


def started(labelkit: Shell, *words: str) -> Answer:
    said = labelkit("bench", *words)
    assert 0 == said.status
    return said


def test_a_running_bench_answers_and_stops_at_ctrl_c(tmp_path: Path) -> None:
    """In its own process: the printed address answers with the card; Ctrl-C ends it without a traceback, in one file.

    A file -wal left beside the store holds what a backup of the store alone would lack (SQLite's documentation,
    "Write-Ahead Logging": the last connection that closes takes it in and deletes it).
    """
    port = free_port()
    (code,) = shop(tmp_path, f"http://127.0.0.1:{port}")
    kept = {name: value for name, value in os.environ.items() if name != "LABELKIT_STORE"}
    process: Any = subprocess.Popen(
        [sys.executable, "-c", START, "bench", "--host", "127.0.0.1", "--port", str(port)],
        cwd=tmp_path,
        env={**kept, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # also where the suite runs in the background
    )
    try:
        assert (
            f"labelkit bench: http://127.0.0.1:{port} (1 job in labelkit.sqlite); Ctrl-C stops it\n"
            == process.stdout.readline()
        )
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/{code}", timeout=20) as answer:
            assert b"FLAT FACE UP" in answer.read()
            assert answer.headers["Server"] is None
    finally:
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=20)

    assert (0, "", ["labelkit.sqlite"]) == (process.returncode, err, [path.name for path in tmp_path.iterdir()])


@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGHUP])
def test_a_service_that_is_stopped_or_a_closed_window_ends_it_as_ctrl_c(
    labelkit: Shell, server: NoServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, end: signal.Signals
) -> None:
    """The store is closed, too; the same signal once more, as windows send it, breaks that off no more."""
    shop(tmp_path, "http://a:1")
    before = signal.signal(end, signal.SIG_DFL)
    monkeypatch.setattr(server, "run", lambda: signal.raise_signal(end))
    try:
        assert "Ctrl-C stops it" in started(labelkit).out
        signal.raise_signal(end)
    finally:
        signal.signal(end, before)

    assert (server.closed, ["labelkit.sqlite"]) == (True, [path.name for path in tmp_path.iterdir()])


@pytest.mark.parametrize(
    ("host", "shown"),
    [("127.0.0.1", "http://127.0.0.1:9000"), ("shop-pc", "http://shop-pc:9000"), ("::1", "http://[::1]:9000")],
)
def test_it_says_where_it_listens(labelkit: Shell, server: NoServer, tmp_path: Path, host: str, shown: str) -> None:
    """The line can be typed into a browser as it stands; afterwards the server is closed."""
    shop(tmp_path, "http://a:1", "http://a:1")

    said = started(labelkit, "--host", host, "--port", "9000")

    assert f"labelkit bench: {shown} (2 jobs in labelkit.sqlite); Ctrl-C stops it\n" == said.out
    assert server.closed


def test_listening_everywhere_shows_an_address_that_phones_reach(
    labelkit: Shell, server: NoServer, tmp_path: Path
) -> None:
    """Nobody can type 0.0.0.0 into a phone."""
    shop(tmp_path, "http://a:1")

    assert re.match(r"labelkit bench: http://(?!0\.0\.0\.0)[0-9.]+:8080 \(1 job in", started(labelkit).out)


def test_labels_that_lead_elsewhere_are_named_once_for_each_address(
    labelkit: Shell, server: NoServer, tmp_path: Path
) -> None:
    """After a new address nobody can scan the old labels: it says which jobs, and what to do."""
    shop(tmp_path, "http://10.9.9.9:8080", "http://127.0.0.1:8080", "http://10.9.9.9:8080", "http://127.0.0.1:81")

    said = started(labelkit, "--host", "127.0.0.1", "--port", "8080")

    assert [
        "labelkit: the labels of jobs 1, 3 say http://10.9.9.9:8080, which does not reach this bench; "
        "unless another bench of this store answers there, start it there, or print them again with --address",
        "labelkit: the labels of job 4 say http://127.0.0.1:81, which does not reach this bench; "
        "unless another bench of this store answers there, start it there, or print them again with --address",
    ] == said.err.splitlines()


@pytest.mark.parametrize(
    ("address", "port", "reaches"),
    [
        ("http://LOCALHOST:8080", "8080", True),
        ("http://127.0.0.1", "80", True),
        ("http://127.0.0.1", "8080", False),
        ("https://127.0.0.1", "443", True),
        ("https://127.0.0.1", "80", False),
        ("http://{host}.LOCAL:8080", "8080", True),
    ],
)
def test_an_address_without_a_port_means_the_scheme_s_own(
    labelkit: Shell, server: NoServer, tmp_path: Path, address: str, port: str, reaches: bool
) -> None:
    """80 for http, 443 for https (RFC 9110, section 4.2); host names in any case, also with .local."""
    shop(tmp_path, address.format(host=socket.gethostname().upper()))

    assert reaches == (not started(labelkit, "--host", "127.0.0.1", "--port", port).err)


def test_a_port_that_an_address_only_means_is_told(labelkit: Shell, server: NoServer, tmp_path: Path) -> None:
    """Who typed no port does not see that it is another one."""
    shop(tmp_path, "http://10.9.9.9")

    assert "the labels of job 1 say http://10.9.9.9 (port 80), which does not reach this bench" in started(labelkit).err


def test_a_port_in_use_is_named(labelkit: Shell, tmp_path: Path, busy_port: int) -> None:
    """What is in the way, and what to do."""
    shop(tmp_path, "http://a:1")

    said = labelkit("bench", "--host", "127.0.0.1", "--port", str(busy_port))

    assert 1 == said.status
    assert (
        f"labelkit: the bench cannot listen at 127.0.0.1:{busy_port}: something else listens at port {busy_port} "
        "already; choose another --port\n"
    ) == said.err


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        # 192.0.2.1 is an address for documentation (RFC 5737); .invalid is no name (RFC 2606)
        (("--host", "192.0.2.1"), 1, "192.0.2.1 is not an address of this computer"),
        (("--host", "a..b"), 1, "--host a..b: is not a name or address of this computer"),
        (("--host", "nowhere.invalid"), 1, "--host nowhere.invalid: is not a name or address of this computer"),
        (("--port", "0"), 2, "0 is not in the range 1<=x<=65535"),
        (("--port", "70000"), 2, "70000 is not in the range 1<=x<=65535"),
    ],
)
def test_where_it_cannot_listen_it_says_why(
    labelkit: Shell, tmp_path: Path, words: tuple[str, ...], status: int, said: str
) -> None:
    """One sentence, no traceback."""
    shop(tmp_path, "http://a:1")
    answer = labelkit("bench", *words)

    assert (status, "") == (answer.status, answer.out)
    assert said in answer.err
    assert "Traceback" not in answer.err


def test_without_a_store_there_is_nothing_to_serve(labelkit: Shell, tmp_path: Path) -> None:
    """An empty bench would answer every label with a lie."""
    said = labelkit("bench")

    assert (1, "") == (said.status, said.out)
    assert "there is no store labelkit.sqlite" in said.err
    assert [] == list(tmp_path.iterdir())


def test_a_first_unit_is_captured_in_a_new_store(labelkit: Shell, server: NoServer, tmp_path: Path) -> None:
    """Who has a unit that nobody described has no profile to make a kit of; the answer without a store says how."""
    assert "`labelkit bench --new-store` an empty one, for a unit to capture" in labelkit("bench").err

    said = started(labelkit, "--new-store")

    assert "0 jobs in labelkit.sqlite" in said.out
    assert "" == said.err


def test_a_store_without_a_job_is_told(labelkit: Shell, server: NoServer, tmp_path: Path) -> None:
    """A shop may start its bench before the first kit, or in the wrong folder: it runs, and says what that means."""
    shop(tmp_path)

    said = started(labelkit)

    assert "(0 jobs in labelkit.sqlite)" in said.out
    assert "labelkit: the store labelkit.sqlite holds no job yet: every label is unknown here until" in said.err
    assert "LABELKIT_STORE" in said.err


def test_the_store_that_is_named_is_the_one_that_is_served(
    labelkit: Shell, server: NoServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From any folder; the line says which one it is."""
    shop(tmp_path, "http://a:1")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.setenv("LABELKIT_STORE", str(tmp_path / "labelkit.sqlite"))

    said = started(Shell(tmp_path / "elsewhere", labelkit.patch, labelkit.capture))

    assert f"(1 job in {tmp_path / 'labelkit.sqlite'})" in said.out


def pin_hash(folder: Path) -> str:
    with Store(str(folder / "labelkit.sqlite"), create=False) as store:
        return store.doorway.pin_hash or ""


def made_pin(out: str) -> str:
    found = re.search(r"PIN of this bench: (\d+) ", out)
    return found[1] if found else ""


def test_a_first_start_makes_a_pin_and_tells_it_once(labelkit: Shell, server: NoServer, tmp_path: Path) -> None:
    """Six digits that sign in, told where nobody can be asked; the next start says nothing of it."""
    shop(tmp_path, "http://127.0.0.1:8080", pin=False)
    first, second = (started(labelkit, "--host", "127.0.0.1") for _ in range(2))

    assert re.fullmatch(r"\d{6}", made_pin(first.out))
    assert check_password_hash(pin_hash(tmp_path), made_pin(first.out))
    assert "PIN" not in second.out + second.err


def test_a_new_pin_takes_the_place_of_the_old_one(labelkit: Shell, server: NoServer, tmp_path: Path) -> None:
    """And signs in; the old one does not any more."""
    shop(tmp_path, "http://127.0.0.1:8080")
    made = made_pin(started(labelkit, "--host", "127.0.0.1", "--new-pin").out)

    assert check_password_hash(pin_hash(tmp_path), made)
    assert made == PIN or not check_password_hash(pin_hash(tmp_path), PIN)


def test_a_pin_is_asked_for_on_a_terminal(
    labelkit: Shell, server: NoServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that is too short is asked for again; what is typed is not shown."""
    shop(tmp_path, "http://127.0.0.1:8080", pin=False)
    typed = iter(["123", "longer than that"])
    monkeypatch.setattr("labelkit.cli.bench.is_asked", lambda: True)
    monkeypatch.setattr("click.prompt", lambda _text, **_settings: next(typed))

    said = started(labelkit, "--host", "127.0.0.1")

    assert check_password_hash(pin_hash(tmp_path), "longer than that")
    assert "a PIN has 6 to 64 digits or letters" in said.err
    assert "longer than that" not in said.out + said.err


def test_a_screen_on_the_wall_needs_no_pin(labelkit: Shell, server: NoServer, tmp_path: Path) -> None:
    """It takes nothing from anybody."""
    shop(tmp_path, "http://127.0.0.1:8080", pin=False)

    assert "PIN" not in started(labelkit, "--host", "127.0.0.1", "--read-only").out
    assert "" == pin_hash(tmp_path)


def test_a_sign_in_label_signs_its_name_in(labelkit: Shell, tmp_path: Path) -> None:
    """Read back from the PDF by zxing-cpp, an independent decoder, it opens the bench under the name on it."""
    shop(tmp_path, "http://a:1")
    said = labelkit("bench", "--sign-in-label", "Ann Example", "--out", "ann.pdf", "--language", "de")
    assert 0 == said.status, said.err
    document = pypdfium2.PdfDocument((tmp_path / "ann.pdf").read_bytes())
    words = " ".join(document[0].get_textpage().get_text_range().split())
    assert re.search("Ann Example Anmelde-? ?Etikett der Werkbank[.] .* wie einen Schlüssel[.]$", words), words
    picture = document[0].render(scale=300 / 72, grayscale=True).to_numpy()
    document.close()
    (symbol,) = zxingcpp.read_barcodes(picture)
    with Store(str(tmp_path / "labelkit.sqlite"), create=False) as store:
        client = create_app(store).test_client()
        key = dict(Page(client.get("/sign-in").text).forms[0].fields)["csrf"]
        answer = client.post("/sign-in", data={"csrf": key, "pin": symbol.text})
        shown = Page(client.get("/").text).text

    assert 303 == answer.status_code
    assert "Signed in as Ann Example" in shown


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--sign-in-label", "Ann"), "--sign-in-label NAME and --out FILE.pdf belong together"),
        (("--out", "ann.pdf"), "--sign-in-label NAME and --out FILE.pdf belong together"),
        (("--sign-in-label", " ", "--out", "ann.pdf"), '--sign-in-label " ": allowed: a name of 1 to 60 letters'),
        (("--sign-in-label", "Ann", "--out", "ann.png"), "did you mean ann.pdf?"),
    ],
)
def test_a_sign_in_label_that_cannot_be_says_why(
    labelkit: Shell, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    """And nothing is written."""
    shop(tmp_path, "http://a:1")
    answer = labelkit("bench", *words)

    assert 2 == answer.status
    assert said in answer.err
    assert ["labelkit.sqlite"] == [
        path.name for path in tmp_path.iterdir() if path.suffix in (".sqlite", ".pdf", ".png")
    ]


def test_behind_a_proxy_its_word_on_the_client_counts(tmp_path: Path) -> None:
    """Forms come from the proxy's https address, and cookies only travel encrypted; without a proxy nobody is believed.

    Source: headers X-Forwarded-Proto and -Host as proxies set them; werkzeug's ProxyFix reads them.
    """
    shop(tmp_path)
    told = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "bench.shop", "X-Forwarded-For": "10.0.0.9"}
    sent = {}
    with Store(str(tmp_path / "labelkit.sqlite"), create=False) as store:
        for behind in (True, False):
            client = create_app(store, behind_proxy=behind).test_client()
            page = client.get("/sign-in", headers=told, base_url="https://localhost" if behind else "http://localhost")
            key = dict(Page(page.text).forms[0].fields)["csrf"]
            data = {"csrf": key, "name": "Ann", "pin": PIN}
            answer = client.post(
                "/sign-in",
                data=data,
                headers={**told, "Origin": "https://bench.shop"},
                base_url="https://localhost" if behind else "http://localhost",
            )
            sent[behind] = (answer.status_code, "Secure" in answer.headers.get("Set-Cookie", ""))

    assert {True: (303, True), False: (403, False)} == sent
