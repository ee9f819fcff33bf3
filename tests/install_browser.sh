#!/bin/sh
# The browser tests drive Debian's Chromium. Where it is missing and can be installed it is; where it cannot, those
# tests are skipped and say so.
command -v chromium >/dev/null 2>&1 && exit 0
command -v chromium-browser >/dev/null 2>&1 && exit 0
if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
    apt-get update -q >/dev/null 2>&1
    DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends chromium >/dev/null 2>&1 \
        || echo "chromium could not be installed: the browser tests will be skipped"
else
    echo "no chromium here: the browser tests will be skipped"
fi
exit 0
