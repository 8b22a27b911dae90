"""What befalls a disk while something is written: a kill, no room, no permission, a second writer.

``python tests/disk/run.py`` kills every kind of writer 500 times in all; ``tests/test_disk.py`` takes a sample of that at each check.
"""
