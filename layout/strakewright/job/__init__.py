"""The whole path, from files to files, one module a command.

inputs    a boat file with everything it names, read
build     hull -> planks -> parts -> plan, with proof; pure, nothing written
outputs   the folder that a build becomes
asked     what `check` says it understood
unrolled  a free-standing mesh laid flat;  nested : anybody's parts on anybody's boards
"""
