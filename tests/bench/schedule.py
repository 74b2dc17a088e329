"""Draws a schedule of circuits with reportlab, for tests/bench_paper.rs to compare with.

    python3 -m venv /tmp/venv && /tmp/venv/bin/pip install reportlab==4.4.4
    BENCH_PYTHON=/tmp/venv/bin/python cargo test --release --test bench_paper -- --ignored --nocapture --test-threads 1

Reads the rows as JSON (a list of lists of texts, the head first), draws them on landscape A4 with the head repeated on every
page, a rule under each row and between columns, and prints how long drawing and writing took in milliseconds, without the start
of Python. `wrap` breaks the texts of cells into lines as a layout has to; without it each text is one line, which is the
fastest table reportlab has. Both fonts are those of the program's paper.

The font of the writer that lays nothing out, schedule.ttf, was made with fonttools 4.68.0:

    pyftsubset src/paper/fonts/condensed-regular.ttf --unicodes=U+0020-007E,U+00BD,U+00D7 --output-file=tests/bench/schedule.ttf
"""

import json
import sys
import time

from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import LongTable, Paragraph, SimpleDocTemplate

rows_file, fonts, out, how = sys.argv[1:5]
with open(rows_file, encoding="utf-8") as file:
    rows = json.load(file)

start = time.perf_counter()
pdfmetrics.registerFont(TTFont("regular", f"{fonts}/condensed-regular.ttf"))
pdfmetrics.registerFont(TTFont("bold", f"{fonts}/condensed-bold.ttf"))
if how == "wrap":
    plain = ParagraphStyle("plain", fontName="regular", fontSize=6, leading=7.5)
    strong = ParagraphStyle("strong", fontName="bold", fontSize=6, leading=7.5)
    rows = [[Paragraph(text, plain if at else strong) for text in row] for at, row in enumerate(rows)]
# The first column, the name, and the rest alike: 265 mm of landscape A4.
widths = [9 * mm, 32 * mm] + [224 * mm / (len(rows[0]) - 2)] * (len(rows[0]) - 2)
table = LongTable(
    rows,
    colWidths=widths,
    repeatRows=1,
    style=[
        ("FONT", (0, 0), (-1, 0), "bold", 6),
        ("FONT", (0, 1), (-1, -1), "regular", 6),
        ("LEADING", (0, 0), (-1, -1), 7.5),
        ("INNERGRID", (0, 0), (-1, -1), 0.4, (0.68, 0.68, 0.68)),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ],
)
margins = {"leftMargin": 16 * mm, "rightMargin": 16 * mm, "topMargin": 16 * mm, "bottomMargin": 16 * mm}
document = SimpleDocTemplate(out, pagesize=landscape(A4), **margins)
document.build([table])
print(f"{(time.perf_counter() - start) * 1000:.3f} {document.page}")
