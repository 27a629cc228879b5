"""What Sphinx is told. ``scripts/make_site.py`` lays the pages out and calls it; requirements.lock has all it uses."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from pygments.lexers.special import TextLexer
from scripts.docsite.docstrings import as_lists, short_types

from pitreckon import __version__

project = "Pitreckon"
author = "The Pitreckon authors"
project_copyright = author
version = release = __version__
language = "en"
root_doc = "index"
exclude_patterns: list[str] = []
nitpicky = False

extensions = ["myst_parser", "sphinx.ext.autodoc"]
myst_heading_anchors = 6
myst_enable_extensions: list[str] = []

autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_default_options = {"exclude-members": "model_config"}
python_use_unqualified_type_names = True
maximum_signature_line_length = 88
add_module_names = False

html_theme = "furo"
html_title = f"Pitreckon {version}"
html_static_path = ["site.css"]
html_css_files = ["site.css"]
html_search_scorer = str(Path(__file__).with_name("scorer.js"))
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
html_permalinks_icon = "#"
html_theme_options = {
    "light_css_variables": {"color-brand-primary": "#8a3b12", "color-brand-content": "#8a3b12"},
    "dark_css_variables": {"color-brand-primary": "#e7a27a", "color-brand-content": "#e7a27a"},
}
pygments_style = "tango"
pygments_dark_style = "monokai"


def setup(app: Any) -> None:
    """Sphinx calls this."""
    app.add_lexer("csv", TextLexer)  # Pygments has none
    app.connect("autodoc-process-docstring", as_lists)
    app.connect("autodoc-process-signature", short_types)
