"""Chart descriptions shared by page, report and command line: dicts of Vega-Lite, drawn by whoever shows them."""
