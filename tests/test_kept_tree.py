"""A tree from disk is the tree that was built, and a file that is not whole is built anew."""

import numpy as np
import pytest

from renderer.world import kept_tree
from renderer.world.kept_tree import KEPT, WORTH, Tree, tree_over


@pytest.fixture
def built(tmp_path, monkeypatch):
    """The numbers of boxes of which trees were built; they are kept in `tmp_path / "trees"`."""
    counts: list[int] = []
    build = kept_tree._built

    def count(boxes):
        counts.append(len(boxes))
        return build(boxes)

    monkeypatch.setattr(kept_tree, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(kept_tree, "_built", count)
    return counts


def boxes(count: int = WORTH, seed: int = 1) -> np.ndarray:
    low = np.random.default_rng(seed).random((count, 3)).astype(np.float32)
    return np.concatenate([low, low + np.float32(0.01)], axis=1)


def same(a: Tree, b: Tree) -> bool:
    return all(np.array_equal(x, y) and x.dtype == y.dtype for x, y in zip(a, b, strict=True))


def test_what_was_built_once_comes_from_disk(built, tmp_path):
    first, second = tree_over(boxes()), tree_over(boxes())
    assert built == [WORTH]
    assert same(first, second)
    assert [it.suffix for it in (tmp_path / "trees").iterdir()] == [".npz"]


def test_other_boxes_are_another_tree(built):
    moved = boxes()
    moved[7, 3] += np.float32(2.0)
    assert not same(tree_over(boxes()), tree_over(moved))
    assert len(built) == 2


@pytest.mark.parametrize("harm", ["cut", "flip", "empty"])
def test_a_file_that_is_not_whole_is_built_anew(built, tmp_path, harm):
    first = tree_over(boxes())
    (path,) = (tmp_path / "trees").iterdir()
    data = bytearray(path.read_bytes())
    if harm == "flip":
        data[len(data) // 2] ^= 0xFF
    path.write_bytes({"cut": data[: len(data) // 2], "flip": data, "empty": b""}[harm])
    assert same(first, tree_over(boxes()))
    assert built == [WORTH, WORTH]
    assert same(first, tree_over(boxes())) and len(built) == 2  # the whole file took its place


def test_where_nothing_can_be_kept_a_tree_is_built(built, tmp_path):
    (tmp_path / "trees").write_text("in the way")
    assert same(tree_over(boxes()), tree_over(boxes()))
    assert built == [WORTH, WORTH]


def test_few_boxes_are_not_kept(built, tmp_path):
    tree_over(boxes(WORTH - 1))
    assert not (tmp_path / "trees").exists()


def test_the_oldest_go(built, tmp_path, monkeypatch):
    monkeypatch.setattr(kept_tree, "WORTH", 2)
    for seed in range(KEPT + 3):
        tree_over(boxes(2, seed))
    assert len(list((tmp_path / "trees").iterdir())) == KEPT
