"""docs/files.md tells every key of every file, as the parts are today."""

import make_files


def test_the_page_is_up_to_date():
    written = make_files.PAGE.read_text(encoding="utf-8")
    assert written == make_files.page(), "run: python docs/make_files.py"


def test_every_key_is_explained():
    for root in (make_files.Turbine, make_files.PartsBin, make_files.Event):
        for part in make_files.reachable(root):
            known = make_files.meanings(part)
            missing = [name for name in part.model_fields if name not in known and name not in ("format", "kind")]
            assert not missing, f"{part.__name__} does not explain {missing}"
