"""Write the estimating workbooks of this folder anew.

A file that is there is left as it is: delete those that are to be renewed first.

Run it:  rm workbook_templates/*.xls[xm]; python workbook_templates/renew.py
"""

from pathlib import Path

from basecalc.estimating.template import write_template

# File: the host and the units it is for.
FILES = {
    "estimate-us.xlsm": ("excel", "us"),
    "estimate-us.xlsx": ("any", "us"),
    "estimate-metric.xlsx": ("any", "metric"),
}


def renew(folder: Path) -> list[Path]:
    """Return the workbooks written into a folder; those that are there already are not among them."""
    wanted = {folder / name: made_for for name, made_for in FILES.items() if not (folder / name).exists()}
    return [write_template(path, host=host, units=units) for path, (host, units) in wanted.items()]


if __name__ == "__main__":
    for written in renew(Path(__file__).parent):
        print(written)
