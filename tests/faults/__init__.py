"""Everything that can go wrong around a call: disks, permissions, kills, streams, locales, files that are no scenario.

`docs/faults.md` lists each fault with what happens and the test that holds it.
"""
