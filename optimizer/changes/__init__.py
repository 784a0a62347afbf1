"""What the least changes to the maker's limits are that would give a design, or could be made without losing it."""

from optimizer.changes.tell import Known, changes_for_none, changes_for_one

__all__ = ["Known", "changes_for_none", "changes_for_one"]
