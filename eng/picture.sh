#!/usr/bin/env bash
# picture.sh OUT.png SECONDS COMMAND...: runs a command in a terminal of 100 x 24, and makes a picture of what stands there after some seconds.
# Needs Debian's tmux, aha and chromium.
set -euo pipefail
out=$(realpath "$1"); after=$2; shift 2
work=$(mktemp -d); trap 'tmux kill-session -t picture 2>/dev/null || true; rm -rf "$work"' EXIT
printf '%q ' "$@" > "$work/command"; echo "; sleep 60" >> "$work/command"
LC_ALL=C.UTF-8 tmux -u new-session -d -s picture -x 100 -y 24 "COLORTERM=truecolor TERM=xterm-256color bash $work/command"
sleep "$after"
LC_ALL=C.UTF-8 tmux capture-pane -e -p -t picture > "$work/screen"
{ echo '<!doctype html><meta charset="utf-8"><style>body{margin:14px;background:#fbf7ee;color:#22201c;font:15px/1.25 "DejaVu Sans Mono",monospace}pre{margin:0;font:inherit}</style><pre>'
  aha --no-header < "$work/screen"; echo '</pre>'; } > "$work/screen.html"
chromium --headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update --disable-sync \
  --user-data-dir="$work/profile" --hide-scrollbars --window-size=960,490 --screenshot="$out" "file://$work/screen.html" >/dev/null 2>&1
