"""The page in one file, as far as it can be looked at without what it is built from."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from base64 import b64decode
from pathlib import Path

import anyio.to_thread
import pytest

from sheetmark.base.findings import InputError
from sheetmark.base.user_folder import default_path, models_folder
from sheetmark.desk.server.pages import page_files
from sheetmark.desk.single.bytecode import as_bytecode
from sheetmark.desk.single.carried import carried, is_used, licences
from sheetmark.desk.single.core import Core, fetching
from sheetmark.desk.single.document import document
from sheetmark.desk.single.inside import Inside
from sheetmark.desk.single.save import save
from tests.helpers.model_files import changed, shipped
from tests.helpers.practice_files import EXAMPLE

PARTS = {"pyodide.asm.wasm": b"engine", "pyodide.mjs": b'"https://some.where/pyodide/v0/"'}


@pytest.fixture
def inside(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Inside:
    # It replaces this for the whole process, which here is not its own.
    monkeypatch.setattr(anyio.to_thread, "run_sync", anyio.to_thread.run_sync)
    return Inside("{}")


def test_what_is_missing_comes_with_the_commands_that_fetch_it(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        save(tmp_path / "page.html", tmp_path)
    (line,) = caught.value.problems
    for command in fetching(tmp_path, carried().compiled):
        assert " ".join(command) in line
    compiled = {library.name: library.version for library in carried().compiled}
    assert {"msgspec", "pydantic_core"} <= compiled.keys()
    assert f"msgspec=={compiled['msgspec']}" in line
    assert list(tmp_path.iterdir()) == []


def test_only_a_page_or_a_folder_is_written(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"page\.txt: must end in \.html, or be a folder"):
        save(tmp_path / "page.txt", tmp_path)


def test_without_nodejs_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(InputError, match=r"node: not found; install Node\.js"):
        as_bytecode(Core(parts={}, library={}, wheels={}), {})


def test_it_carries_the_application_and_what_that_imports() -> None:
    files = carried().files
    tops = {name.partition("/")[0] for name in files}
    assert {"sheetmark", "fastapi", "reportlab", "svgwrite", "pydantic", "msgspec"} <= tops
    assert not tops & {"uvicorn", "numpy", "scipy", "typer", "pip", "pytest"}
    assert "sheetmark/desk/single/inside.py" in files
    assert "sheetmark/arch_models/adult-mean.toml" in files
    assert not [name for name in files if re.match(r"sheetmark/(cli|studies/coverage)/", name)]
    assert not [name for name in files if name.endswith((".so", ".pyd"))]
    assert is_used("asyncio/tasks.py")
    assert not is_used("unittest/mock.py")


def test_the_application_opens_without_what_only_some_pages_need() -> None:
    program = (
        "import sys; import sheetmark.desk.server.app; "
        "print(*sorted({'numpy', 'scipy', 'trimesh', 'shapely'} & sys.modules.keys()))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == []


def test_it_carries_the_licence_of_each_library() -> None:
    text = licences(carried().libraries)
    for library in carried().libraries:
        assert f"{library.name} {library.version}" in text
    assert "Permission is hereby granted" in text


def test_its_scripts_find_each_other_inside_the_file() -> None:
    page = document(PARTS, "licences </script>")
    found = re.search(r'<script type="importmap">(.*?)</script>', page)
    assert found is not None
    addresses = json.loads(found[1])["imports"]
    scripts = [name for name in page_files() if name.endswith(".js")]
    assert {f"sheetmark/page/{name}" for name in scripts} < addresses.keys()
    for address in addresses.values():
        text = b64decode(address.partition(",")[2]).decode()
        assert set(re.findall(r'"(sheetmark/[^"]+)"', text)) <= addresses.keys()
        assert not re.search(r'"\.{1,2}/', text)
    assert "TOKEN" not in page
    assert page.count("</script>") == page.count("<script")
    assert (
        len(re.findall(r'url\("data:font/woff2;base64,', page))
        == len(re.findall(r"url\(", page))
        == 4
    )


def test_what_a_person_saves_is_handed_back_at_the_next_start(inside: Inside) -> None:
    assert json.loads(inside.kept()) == {}
    text = EXAMPLE.read_text("utf-8")
    inside.put(json.dumps({"practice.toml": text}))
    assert default_path().read_text("utf-8") == text
    assert json.loads(inside.kept()) == {"practice.toml": text}
    inside.put("{}")
    assert not default_path().exists()


def test_a_practice_file_that_is_opened_is_checked_and_replaces_none_unasked(
    inside: Inside,
) -> None:
    text = EXAMPLE.read_bytes()
    assert json.loads(inside.take("mine.toml", text)) == {"taken": "practice.toml"}
    assert json.loads(inside.take("mine.toml", text)) == {"taken": "practice.toml"}
    other = text.replace(b'paper = "a4"', b'paper = "letter"')
    assert other != text
    answer = json.loads(inside.take("other.toml", other))
    assert answer == {"question": "practice.toml is kept already. Replace it with other.toml?"}
    assert default_path().read_bytes() == text
    assert json.loads(inside.take("other.toml", other, replace=True)) == {"taken": "practice.toml"}
    assert default_path().read_bytes() == other
    wrong = json.loads(inside.take("wrong.toml", b"paper = 3"))["problems"]
    assert wrong[0].startswith("wrong.toml: ")
    assert json.loads(inside.take("x.toml", b"\xff"))["problems"][0].startswith("x.toml: not UTF-8")
    assert default_path().read_bytes() == other


def test_an_arch_model_that_is_opened_is_kept_under_its_own_name(inside: Inside) -> None:
    own = changed(shipped(), 'name = "adult-mean"', 'name = "our-own"').encode()
    assert json.loads(inside.take("arch (1).toml", own)) == {"taken": "arch_models/our-own.toml"}
    assert (models_folder() / "our-own.toml").read_bytes() == own
    (line,) = json.loads(inside.take("a.toml", shipped().encode()))["problems"]
    assert line == "a.toml: adult-mean is the name of a model that is here already"
    broken = changed(shipped(), "mesiodistal = [", "mesiodistal_mm = [").encode()
    assert json.loads(inside.take("a.toml", broken))["problems"][0].startswith("a.toml")
