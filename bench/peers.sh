#!/bin/sh
# Times the kernel beside programs on other general-purpose libraries, round by
# round, and prints the table of medians and ratios.
#
#   bench/peers.sh FOLDER [ROUNDS]
#
# FOLDER has the data in data/ and the programs in bin/: embree, cgal_tree, vtk,
# icp_open3d, icp_pcl (see docs/PERFORMANCE.md); one that is not there is left
# out. THREADS (default 1) is passed to all; TASKS=register times that alone.
# A ratio is taken within one round, so a busy machine moves both sides; five
# rounds or more on a quiet one are better.
set -eu
[ $# -ge 1 ] || { sed -n '2,11s/^# \{0,1\}//p' "$0"; exit 2; }
root=$(cd "$(dirname "$0")/.." && pwd)
peers=$(cd "$1" && pwd)
rounds=${2:-5}
threads=${THREADS:-1}
tasks=${TASKS:-read,build,closest,signed,rays,sections,register}
export OMP_NUM_THREADS="$threads"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
(cd "$root" && go build -o "$work/bench" ./bench)
cd "$peers"
d=data

# peer PROGRAM ARGUMENTS: its figures, marked with the round.
peer() {
  program=$1; shift
  [ -x "bin/$program" ] || return 0
  "bin/$program" "$@" | sed "s/^{/{\"round\":$i,/" >> "$work/figures"
}

i=1
while [ "$i" -le "$rounds" ]; do
  echo "round $i of $rounds" >&2
  [ "$tasks" = register ] || peer embree $d/b.stl $d/q_near_b_morton.bin - - - "$threads" 3 near_b_morton
  "$work/bench" kernel --data $d --threads "$threads" --round "$i" --tasks "$tasks" >> "$work/figures"
  if [ "$tasks" != register ]; then
    peer embree $d/b.stl $d/q_near_b.bin - $d/q_near_b_sgn.bin $d/rays_b.bin "$threads" 3 near_b
    NMAX=${NMAX:-50000} RMAX=${RMAX:-50000} peer cgal_tree $d/b.stl $d/q_near_b.bin - $d/q_near_b_sgn.bin $d/rays_b.bin "$threads" 1 near_b
    peer vtk stl $d/a.stl 3
  fi
  peer icp_open3d icp $d "$threads" 3
  peer icp_pcl $d/b.stl $d/c.stl $d/truth.txt 1
  i=$((i + 1))
done
[ -z "${KEEP:-}" ] || cp "$work/figures" "$KEEP"
"$work/bench" table "$work/figures"
[ -z "${CPU:-}" ] || "$work/bench" table --cpu "$work/figures"
