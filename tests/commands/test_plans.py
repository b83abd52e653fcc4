"""Choosing the plans of a folder."""

from __future__ import annotations

from pathlib import Path

from jackstay.commands.plans import is_campaign, plans_in


def write(folder: Path, **texts: str) -> None:
    for name, text in texts.items():
        (folder / f"{name}.stay").write_text(text)


def names(folder: Path) -> list[str]:
    return [path.stem for path in plans_in(folder)]


def test_a_campaign_draws_its_excursions_and_modules_in(tmp_path: Path) -> None:
    write(
        tmp_path,
        aside="use depot\n",
        depot="use units\n",
        work="campaign work\n  excursions first, second # third\n",
        first="use depot\nexcursion first\n  starts as yard\n",
        second="excursion second\n",
        third="excursion third\n",
        yard="",
    )
    assert names(tmp_path) == ["work", "aside", "third"]
    assert is_campaign(tmp_path / "work.stay") and not is_campaign(tmp_path / "first.stay")


def test_files_that_draw_on_each_other_are_still_checked(tmp_path: Path) -> None:
    write(tmp_path, a="use b\n", b="use a\n", c="use c\n")
    assert names(tmp_path) == ["c", "a"]


def test_no_plans(tmp_path: Path) -> None:
    assert names(tmp_path) == []


def test_a_mark_of_order_before_the_first_line_hides_nothing(tmp_path: Path) -> None:
    (tmp_path / "yard.stay").write_bytes(b"location yard\n")
    (tmp_path / "plan.stay").write_bytes(b"\xef\xbb\xbfuse yard\n")
    (tmp_path / "all.stay").write_bytes(b"\xef\xbb\xbfcampaign all\n  excursions plan\n")
    assert plans_in(tmp_path) == [tmp_path / "all.stay"]
    assert is_campaign(tmp_path / "all.stay")
