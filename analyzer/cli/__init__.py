"""The command line: one module a command, found through the entry point group "climbledger.commands".

Nothing here imports anything heavy at the top: ``climbledger --help`` loads every command.
"""
