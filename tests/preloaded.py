"""Everything that commands load, for processes that are forked (`tests.processes`)."""

from importlib import import_module
from pkgutil import walk_packages

import cli
import optimizer

for _package in (cli, optimizer):
    for _module in walk_packages(_package.__path__, f"{_package.__name__}."):
        import_module(_module.name)
