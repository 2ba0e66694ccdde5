"""Walk one small job from the sign-in to the signature and keep a picture of every screen, in light and in dark.

python -m tests.bench.walk FOLDER
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from labelkit.bench.app import create_app
from labelkit.store.jobs import Store
from tests.bench_app.hands import with_pin
from tests.bench_app.phones import SIZE, Phone, a_browser, serving
from tests.bench_app.wholejob import walk
from tests.bench_app.workshop import SECRET


def main(folder: Path) -> None:
    """Walk, and write NUMBER-SCREEN-light.png and -dark.png."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place, Store(f"{place}/shop.sqlite", secret=SECRET) as store:
        with_pin(store)
        with serving(create_app(store)) as address, a_browser() as browser:
            phone = Phone(browser.new_context(viewport=SIZE).new_page(), address)
            count = 0

            def look(name: str) -> None:
                nonlocal count
                count += 1
                for scheme in ("dark", "light"):
                    phone.page.emulate_media(color_scheme=scheme)
                    phone.page.screenshot(path=folder / f"{count:02d}-{name}-{scheme}.png", full_page=True)

            try:
                walk(phone, store, look)
            except Exception:
                look("stopped-here")
                raise
            print(f"{count} screens in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
