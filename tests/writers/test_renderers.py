"""Files opened by programs that nobody here wrote: a browser, two SVG libraries, a CAD program."""

import os
import shutil
import subprocess

import cairocffi  # type: ignore[import-untyped]
import cairosvg
import numpy as np
import pytest
from scipy.ndimage import binary_dilation
from tests.writers import boards

from stillstock.writers.dxf import dxf, dxf_r12
from stillstock.writers.svg import svg
from stillstock.writers.unit import INCH, MILLIMETRE

DPI = 96  # one CSS pixel is 1/96 in (CSS Values and Units, section 6.2, from memory)
SMALL = {
    **boards.LINES,
    "table": {"size": [360, 230], "origin": [-95, -35], "thickness": 18},
    "keep_outs": [
        {"kind": "track", "name": "track", "from": [-85, 45], "to": [255, 120], "width": 19, "clearance": 2},
        {"kind": "circle", "name": "screw", "at": [-50, 150], "diameter": 9, "clearance": 3},
    ],
    "dowels": [{"kind": "corner", "at": [120, 120], "to": [220, 180], "diameter": 8, "depth": 12}],
    "end_mill": {"diameter": 6},
}


def program(name):
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed here")
    return found


def run(folder, *command):
    environ = {**os.environ, "HOME": str(folder), "XDG_RUNTIME_DIR": str(folder)}
    subprocess.run(command, check=True, capture_output=True, timeout=120, cwd=folder, env=environ)


def darkness(png):
    """Return how dark each pixel is on white paper, 0 to 1."""
    surface = cairocffi.ImageSurface.create_from_png(png)
    rows = np.frombuffer(surface.get_data(), dtype=np.uint8)
    pixels = rows.reshape(surface.get_height(), surface.get_stride())[:, : 4 * surface.get_width()]
    return 1.0 - pixels.reshape(surface.get_height(), -1, 4)[:, :, :3].max(axis=2) / 255.0


def nowhere_apart(first, second, *, pixels, clear=0.45, faint=0.05):
    """Return the share of clearly drawn pixels of each picture that the other has nothing near; both ways."""
    size = np.ones((2 * pixels + 1, 2 * pixels + 1), dtype=bool)
    return [
        float(((one > clear) & ~binary_dilation(other > faint, size)).sum() / (one > clear).sum())
        for one, other in ((first, second), (second, first))
    ]


@pytest.fixture
def picture(tmp_path):
    content = svg(boards.answered(SMALL).drawing)
    (tmp_path / "board.svg").write_bytes(content)
    cairosvg.svg2png(bytestring=content, write_to=str(tmp_path / "cairo.png"), dpi=DPI, background_color="white")
    return tmp_path, darkness(str(tmp_path / "cairo.png"))


def test_a_browser_and_a_library_render_the_same_pixels_at_true_size(picture):
    """364 mm and a little over 244 mm at 96 pixels an inch, lines in the same pixels within one."""
    folder, mine = picture
    height, width = mine.shape
    assert (width, height) == (pytest.approx(364 / 25.4 * DPI, abs=1), pytest.approx(244 / 25.4 * DPI, abs=1))
    run(
        folder,
        *(program("chromium"), "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"),
        *(f"--user-data-dir={folder / 'profile'}", f"--window-size={width},{height}"),
        *("--force-device-scale-factor=1", f"--screenshot={folder / 'browser.png'}", f"file://{folder / 'board.svg'}"),
    )
    theirs = darkness(str(folder / "browser.png"))
    assert theirs.shape == mine.shape
    assert (mine > 0.45).mean() > 0.01
    assert nowhere_apart(mine, theirs, pixels=1) == [0.0, 0.0]


def test_a_second_library_agrees(picture):
    folder, mine = picture
    run(folder, program("rsvg-convert"), "--background-color=white", "-o", folder / "rsvg.png", folder / "board.svg")
    theirs = darkness(str(folder / "rsvg.png"))
    height, width = (min(sizes) for sizes in zip(mine.shape, theirs.shape, strict=True))
    assert abs(np.array(theirs.shape) - mine.shape).max() <= 1
    assert nowhere_apart(mine[:height, :width], theirs[:height, :width], pixels=1) == [0.0, 0.0]


@pytest.mark.parametrize(("write", "system"), [(dxf, "metric"), (dxf_r12, "metric"), (dxf, "inch")])
def test_a_cad_program_opens_the_dxf_and_shows_the_same_board(picture, write, system):
    """Printed at 1:1 on A3, turned into pixels and laid over the SVG by its upper left corner: within two pixels.

    R12 has no units, so the program takes the drawing as it stands; an inch file comes out at true size by $INSUNITS.
    """
    folder, mine = picture
    answer = boards.answered(SMALL)
    unit = INCH if system == "inch" else MILLIMETRE
    (folder / "board.dxf").write_bytes(write(answer.drawing, unit=unit))
    program("librecad")
    run(
        folder,
        *(program("xvfb-run"), "-a", "librecad", "dxf2pdf", "-m", "-c", "-s", "1", "-f", "0,0,0,0"),
        folder / "board.dxf",
    )
    run(folder, program("pdftoppm"), "-r", str(DPI), "-png", "-singlefile", folder / "board.pdf", folder / "cad")
    theirs = cropped(darkness(str(folder / "cad.png")))
    mine = cropped(mine)
    table = (slice(0, int(229 / 25.4 * DPI)), slice(0, int(359 / 25.4 * DPI)))
    assert nowhere_apart(mine[table], theirs[table], pixels=2) == [0.0, 0.0]


def cropped(dark):
    """Return a picture from its first drawn row and column on: the upper left corner of the table."""
    drawn = dark > 0.3
    return dark[int(np.argmax(drawn.any(axis=1))) :, int(np.argmax(drawn.any(axis=0))) :]
