#!/bin/sh
# The browser and the PDF reader of the tests under tests/browser, from the system's packages, where they can be had.
# Without them those tests are skipped and say so.
set -u
if command -v chromium >/dev/null && command -v pdftotext >/dev/null; then
    exit 0
fi
if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null; then
    echo "no Chromium, and no way to install it: the browser tests will be skipped"
    exit 0
fi
if apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
    chromium poppler-utils fonts-dejavu-core >/dev/null; then
    echo "installed Chromium for the browser tests"
else
    echo "Chromium could not be installed: the browser tests will be skipped"
fi
exit 0
