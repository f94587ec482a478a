"""Execute a notebook inside a folder, and leave its result there.

The notebook runs with the folder as its working directory and writes index.html there. Beside it come the
executed notebook, the same as a page (HTML), and summary.txt: the text of the cell tagged ``summary``.
"""

import shutil
import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError
from nbconvert import HTMLExporter


def texts(cell: nbformat.NotebookNode) -> list[str]:
    """Return what a code cell showed as plain text."""
    shown = []
    for output in cell.outputs:
        if output.output_type == "stream" and output.name == "stdout":
            shown.append(output.text)
        elif output.output_type in ("execute_result", "display_data"):
            shown.append(output.data.get("text/plain", ""))
    return [text.rstrip() for text in shown if text.strip()]


def main(source: Path, folder: Path) -> int:
    """Execute ``source`` in ``folder``; return 0 where the notebook ran through and wrote its page."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    notebook = nbformat.read(source, as_version=4)
    client = NotebookClient(notebook, timeout=600, resources={"metadata": {"path": str(folder)}})
    try:
        client.execute()
    except CellExecutionError as error:
        print(error, file=sys.stderr)
        return 1
    finally:
        nbformat.write(notebook, folder / source.name)
    page, _ = HTMLExporter().from_notebook_node(notebook)
    (folder / source.with_suffix(".html").name).write_text(page, encoding="utf-8")
    summary = [
        text
        for cell in notebook.cells
        if cell.cell_type == "code" and "summary" in cell.metadata.get("tags", [])
        for text in texts(cell)
    ]
    if not summary:
        print(f"{source}: no cell tagged 'summary' showed any text", file=sys.stderr)
        return 1
    (folder / "summary.txt").write_text("\n".join(summary) + "\n", encoding="utf-8")
    if not (folder / "index.html").is_file():
        print(f"{source}: did not write index.html", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit("usage: execute.py NOTEBOOK FOLDER")
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
