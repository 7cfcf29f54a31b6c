"""Ask the server in this container whether it and its database are well; exit 0 when they are."""

import sys
import urllib.request

NAME = "bench.example"
request = urllib.request.Request("http://127.0.0.1:8756/health", headers={"host": NAME})
with urllib.request.urlopen(request, timeout=4) as answer:
    sys.exit(answer.status != 200)
