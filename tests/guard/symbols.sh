#!/bin/sh
# No shell and no other program is ever run: midthrow does not so much as import what could.
#   symbols.sh MIDTHROW
set -u
imported=$(nm -D --undefined-only "$1" | awk '{ print $2 }' | sed 's/@.*//')
[ -n "$imported" ] || { echo 'FAILED: nm lists no imports'; exit 1; }
found=$(echo "$imported" | grep -Ex \
    'system|popen|wordexp|exec(l|le|lp|v|ve|vp|vpe|veat)|fexecve|posix_spawnp?')
[ -z "$found" ] || { echo "FAILED: imported: $found"; exit 1; }
echo 'none imported'
