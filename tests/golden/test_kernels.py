"""What is printed and written does not hang on the processor."""

from tests.golden.kernels import SETTINGS, differing


def test_a_design_has_the_same_bytes_under_other_kernels() -> None:
    """Screens, design.json and papers' sources of one machine are the same bytes by the two most unlike kernels.

    The crossed belt of `grindstone` lets J fall to nothing, of which each kernel leaves another residue.
    """
    assert not differing(["grindstone", "--calls", "design"], SETTINGS[:2])
