#!/usr/bin/env bash
# Tries both commands of the README on a bare Debian: a folder made by debootstrap that holds
# nothing but Debian's smallest system and python3, entered with chroot.
#
#   sudo tests/bench/bare.sh FOLDER [root|user|user-with-chromium] [ARGUMENTS FOR PYTEST]
#
# root                 as root, who may install packages
# user                 as somebody who may not; the machine has python3 and python3-venv
# user-with-chromium   the same on a machine that has Chromium too, but not its driver's library
#
# FOLDER gets one clean tree, made once, and a copy of it for each try. Needs root, debootstrap
# (apt-get install debootstrap) and some 3 GB. How this machine reaches Debian and Python
# packages (apt's sources, pip's settings, certificates, names) is carried into the copy.
# SUITE names another release of Debian. Exit code: 0 both commands did what they should.
set -euo pipefail

folder="$(mkdir -p "${1:?which folder?}" && cd "$1" && pwd)"
who="${2:-root}"
shift $(($# < 2 ? $# : 2))
[ $# -gt 0 ] || set -- "tests/browser/test_job.py::test_killed_in_the_middle_of_entry" "tests/logic/test_units.py"
suite="${SUITE:-bookworm}"
project="$(cd "$(dirname "$0")/../.." && pwd)"
clean="$folder/$suite" tree="$folder/$suite-$who"
[ "$(id -u)" = 0 ] || { echo "This needs root."; exit 2; }

say() { printf '\n-- %s\n' "$*"; }

mirror() {  # where this machine takes Debian from
  { cat /etc/apt/sources.list /etc/apt/sources.list.d/*.list /etc/apt/sources.list.d/*.sources 2>/dev/null || true; } |
    sed -nE 's/^(deb (\[[^]]*\] )?|URIs: )(https?:[^ ]*).*/\3/p' | head -n 1
}

carry() {  # the settings by which this machine reaches packages, into the tree
  cp -L /etc/resolv.conf "$tree/etc/resolv.conf"
  cp -L /etc/hosts "$tree/etc/hosts"
  rm -f "$tree/etc/apt/sources.list"
  for from in /etc/apt/sources.list /etc/apt/sources.list.d/debian.sources /etc/apt/apt.conf.d/99* /etc/apt/auth.conf.d \
    /usr/share/keyrings/debian-archive-keyring.gpg /etc/pip.conf /etc/xdg/pip; do
    [ -e "$from" ] && mkdir -p "$tree$(dirname "$from")" && cp -rL "$from" "$tree$(dirname "$from")/"
  done
  mkdir -p "$tree/etc/carried"  # a certificate kept here is not overwritten when Debian's own are installed
  while IFS='=' read -r name value; do
    case "$name" in
      PIP_* | SSL_CERT_FILE | REQUESTS_CA_BUNDLE | http_proxy | https_proxy | no_proxy | HTTP_PROXY | HTTPS_PROXY | NO_PROXY)
        if [ -f "$value" ]; then cp -L "$value" "$tree/etc/carried/$name" && value="/etc/carried/$name"; fi
        printf 'export %s=%q\n' "$name" "$value" >>"$tree/etc/carried.sh" ;;
    esac
  done < <(env; pip config list 2>/dev/null | sed -nE "s/^global\.cert='(.*)'/PIP_CERT=\1/p")
  for place in $(pip config list 2>/dev/null | grep -oE 'file://[^ '"'"']+' | sed -E 's#^file://##; s#/simple/?$##' | sort -u); do
    [ -d "$place" ] && mkdir -p "$tree$place" && mount --bind -o ro "$place" "$tree$place"
  done
  return 0
}

leave() {  # unmount what lies in the tree, the deepest first
  awk -v tree="$tree/" 'index($2, tree) == 1 {print $2}' /proc/mounts | sort -r | while read -r place; do umount -l "$place"; done
}
trap leave EXIT

inside() { chroot "$tree" /usr/bin/env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive HOME=/root bash -c ". /etc/carried.sh; $1"; }
as() {  # a command in the project's folder, as whoever tries it
  if [ "$who" = root ]; then inside "cd /root/boreside && $1"; else
    chroot --userspec=worker:worker "$tree" /usr/bin/env -i PATH=/usr/bin:/bin LANG=C.UTF-8 HOME=/home/worker bash -c ". /etc/carried.sh; cd ~/boreside && $1"
  fi
}

if [ ! -e "$clean/etc/debian_version" ]; then
  say "Making a bare $suite"
  debootstrap --variant=minbase --include=python3 "$suite" "$clean" "$(mirror)" >"$folder/debootstrap.log"
fi
leave
rm -rf --one-file-system "$tree"
cp -a --reflink=auto "$clean" "$tree"
: >"$tree/etc/carried.sh"
carry
mount -t proc proc "$tree/proc"
mount --rbind /dev "$tree/dev"
mount --make-rslave "$tree/dev"
mount -t tmpfs tmpfs "$tree/dev/shm" 2>/dev/null || true

home=/root
if [ "$who" != root ]; then
  home=/home/worker
  say "What an ordinary user is told while Python's venv is missing"
  inside "useradd --create-home --shell /bin/bash worker"
fi
mkdir -p "$tree$home/boreside"
git -C "$project" ls-files -z --cached --others --exclude-standard | tar -C "$project" --null --files-from=- -cf - | tar -C "$tree$home/boreside" -xf -
if [ "$who" != root ]; then
  inside "chown -R worker:worker $home"
  if said="$(as 'python3 mobile/start.py build' 2>&1)"; then echo "It built without venv?"; exit 1; fi
  tail -n 1 <<<"$said"
  grep -q 'sudo apt-get install python3' <<<"$said"
  say "Installing what the machine's owner would: python3-venv${who#user}"
  more=""
  [ "$who" = user-with-chromium ] && more=chromium
  inside "apt-get update -qq && apt-get install -y -qq --no-install-recommends python3-venv $more >/dev/null 2>&1"
fi

say "python3 mobile/start.py, as $who"
set -m  # a process group of its own, so that all of it can be ended
as 'exec python3 mobile/start.py --port 8499 > start.log 2>&1' &
serving=$!
set +m
answer=""
for _ in $(seq 900); do
  kill -0 "$serving" 2>/dev/null || break
  answer="$(as 'python3 -c "import urllib.request as u; print(u.urlopen(\"http://127.0.0.1:8499/\").status)" 2>/dev/null' || true)"
  [ "$answer" = 200 ] && break
  sleep 3
done
as 'grep -v ^WARNING start.log'
kill -TERM -- "-$serving" 2>/dev/null || true
wait "$serving" || true
[ "$answer" = 200 ] || { echo "The app was not served."; exit 1; }

say "python3 tests/run.py $*, as $who"
as "python3 tests/run.py -rs $*" | tee "$folder/$suite-$who.log"
case "$who" in
  user) grep -q 'SKIPPED.*no Chromium' "$folder/$suite-$who.log" ;;
  *) ! grep -q 'SKIPPED' "$folder/$suite-$who.log" ;;
esac
say "Both commands did what they should, as $who."
