# Sourced with $here set to the checkout: makes $here/.venv where it is missing, broken or moved here
# from elsewhere, and installs the package in it. `install_package tests` adds what the tests need.
# Nothing is installed anew unless pyproject.toml is newer than the last installation.

find_python() {
    for candidate in python3 python3.13 python3.12 python3.11 python; do
        if "$candidate" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$candidate"
            return
        fi
    done
    echo "Python 3.11 or later (with its venv module) is needed and was not found." >&2
    return 1
}

# The scripts of an environment name the folder it was made in; one that was copied here from another
# checkout would install and run things over there.
venv_is_sound() {
    "$here/.venv/bin/python" -m pip --version >/dev/null 2>&1 &&
        "$here/.venv/bin/python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null &&
        grep -qF "$here/.venv/bin/" "$here/.venv/bin/pip" 2>/dev/null
}

install_package() {
    extra=${1:-}
    stamp="$here/.venv/.installed${extra:+-$extra}"
    if [ -z "$extra" ] && [ -e "$stamp-tests" ]; then
        stamp="$stamp-tests"
        extra=tests
    fi
    if ! venv_is_sound; then
        python=$(find_python) || return 1
        rm -rf "$here/.venv"
        echo "Making .venv ..."
        "$python" -m venv "$here/.venv" || return 1
    fi
    if ! [ "$stamp" -nt "$here/pyproject.toml" ] || ! [ -x "$here/.venv/bin/netdiff" ]; then
        echo "Installing netdiff${extra:+ and what its $extra need} into .venv ..."
        "$here/.venv/bin/python" -m pip install --quiet --disable-pip-version-check \
            --editable "$here${extra:+[$extra]}" || return 1
        touch "$stamp"
    fi
}
