"""Runs a command and wants exactly this exit code, and a line that matches: must_say.py CODE PATTERN COMMAND..."""
import re
import subprocess
import sys

code, pattern, command = int(sys.argv[1]), sys.argv[2], sys.argv[3:]
done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
print(done.stdout)
if done.returncode != code:
    sys.exit(f"it ended with {done.returncode}, not with {code}")
if not re.search(pattern, done.stdout):
    sys.exit(f"it did not say: {pattern}")
