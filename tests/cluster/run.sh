#!/bin/bash
# Test the job array of docs/cluster.md on one machine:  tests/cluster/run.sh PROGRAM FOLDER   (as root; see docs/cluster.md)
#
# Starts munged, slurmctld and slurmd of its own on the loopback, with all their files below FOLDER; runs an array of four
# tasks, kills one task, looks at what is gathered without it, runs it again, gathers, and compares with one local batch.
# Ends the daemons that it started, whatever happens.
set -euo pipefail
program=$(realpath "${1:?usage: tests/cluster/run.sh PROGRAM FOLDER}")
here=$(realpath "$(dirname "$0")")
job=$here/../../docs/cluster-job.sh
shares=4
rm -rf "${2:?usage: tests/cluster/run.sh PROGRAM FOLDER}"
mkdir -p -m 755 "$2"/{state,spool,run}
work=$(realpath "$2")
export SLURM_CONF=$work/slurm.conf STRUTPRESS=$program
pids=()

fail() {
    echo "cluster test: $1" >&2
    tail -n 5 "$work"/*.log "$work"/run/*.log 2> /dev/null | sed 's/^/    /' >&2 || true
    exit 1
}

# End only what this script has started, by its process id, jobs first.
clean_up() {
    [ -z "${slurmd_up:-}" ] || scancel --quiet --user="$(id -un)" --full --signal=KILL 2> /dev/null || true
    [ -z "${slurmd_up:-}" ] || sleep 1
    for pid in "${pids[@]}"; do kill "$pid" 2> /dev/null || true; done
    for pid in "${pids[@]}"; do wait "$pid" 2> /dev/null || true; done
}
trap clean_up EXIT
trap 'exit 130' INT TERM

# wait_for SECONDS WHAT COMMAND...
wait_for() {
    local left=$((5 * $1)) what=$2
    shift 2
    until "$@"; do
        left=$((left - 1))
        [ $left -gt 0 ] || fail "waited in vain for $what"
        sleep 0.2
    done
}

[ "$(id -u)" = 0 ] || fail "needs root: slurmd starts each job as the user who sent it"
for tool in munged slurmctld slurmd sbatch scancel scontrol squeue; do
    command -v $tool > /dev/null || fail "$tool is missing; as root: make cluster-test, or apt-get install munge slurmctld slurmd slurm-client"
done

# ---- a cluster of one machine -------------------------------------------------------------------------------------
host=$(hostname -s)
port=$((20000 + $$ % 20000))
head -c 1024 /dev/urandom > "$work/munge.key"
chmod 600 "$work/munge.key"
# There are no cgroups (proctrack/linuxproc, task/none), so that it runs in a container, too. config_overrides gives four places for
# tasks, whatever the machine has. NoInAddrAny makes it listen on 127.0.0.1 alone.
cat > "$SLURM_CONF" << CONF
ClusterName=strutpress
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=$port
SlurmdPort=$((port + 1))
CommunicationParameters=NoCtldInAddrAny,NoInAddrAny
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$work/run/munge.socket
CredType=cred/munge
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool
SlurmctldPidFile=$work/run/slurmctld.pid
SlurmdPidFile=$work/run/slurmd.pid
SlurmctldLogFile=$work/run/slurmctld.log
SlurmdLogFile=$work/run/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SlurmdParameters=config_overrides
ReturnToService=2
MinJobAge=3600
KillWait=2
NodeName=$host NodeAddr=127.0.0.1 CPUs=$shares RealMemory=8000
PartitionName=all Nodes=$host Default=YES MaxTime=INFINITE State=UP
CONF

munged --foreground --force --key-file="$work/munge.key" --socket="$work/run/munge.socket" --pid-file="$work/run/munged.pid" \
    --log-file="$work/run/munged.log" --seed-file="$work/run/munged.seed" > "$work/run/munged.out" 2>&1 &
pids+=($!)
wait_for 20 "munged" test -S "$work/run/munge.socket"
slurmctld -D -i -f "$SLURM_CONF" > "$work/run/slurmctld.out" 2>&1 &
pids=($! "${pids[@]}")
slurmd -D -f "$SLURM_CONF" > "$work/run/slurmd.out" 2>&1 &
pids=($! "${pids[@]}")
slurmd_up=1
node_is_idle() { sinfo --noheader --format=%T 2> /dev/null | grep -qx idle; }
wait_for 60 "a node that takes jobs" node_is_idle
echo "cluster    $(slurmctld -V), one node, $shares places"

# ---- the array, with one task killed ------------------------------------------------------------------------------
cd "$work"
cp "$here/plan.yaml" .
coupons_in() { "$program" compare "$1" --dump 2> /dev/null | grep -c '^coupon ' || true; }
has_coupons() { [ "$(coupons_in "$1")" -ge 1 ]; }
state_of() { scontrol --oneliner show job "$1" | sed 's/.*JobState=\([A-Z_]*\).*/\1/'; }
is_over() { ! squeue --noheader --jobs="$1" --states=PENDING,RUNNING,COMPLETING 2> /dev/null | grep -q .; }

id=$(sbatch --parsable --array=1-$shares --mem-per-cpu=500 "$job" plan.yaml $shares)
wait_for 300 "the first coupon of task 3" has_coupons out/plan.3-of-$shares.store
scancel --full --signal=KILL "${id}_3"
wait_for 600 "the end of the array" is_over "$id"
for task in 1 2 4; do
    [ "$(state_of "${id}_$task")" = COMPLETED ] || fail "task $task: $(state_of "${id}_$task"), wanted COMPLETED"
done
[ "$(state_of "${id}_3")" != COMPLETED ] || fail "task 3 had ended before it was killed"
killed=$(coupons_in out/plan.3-of-$shares.store)
echo "array      $shares tasks; task 3 was killed ($(state_of "${id}_3")) with $killed coupons stored"

# ---- what one local batch says ------------------------------------------------------------------------------------
"$program" batch plan.yaml --store local.store --quiet > local.txt
"$program" compare local.store --dump > local.dump
all=$(grep -c '^coupon ' local.dump)

# ---- gathered without the rest, then with it ----------------------------------------------------------------------
"$program" gather out/plan.?-of-$shares.store --store gathered.store > gathered-1.txt
short=$(coupons_in gathered.store)
[ "$short" -lt "$all" ] || fail "nothing was missing after the kill: $short of $all coupons"
sbatch --wait --array=3 --mem-per-cpu=500 "$job" plan.yaml $shares > rerun.txt || fail "the rerun of task 3 failed"
rerun=$(grep -h '^pressed' "strutpress-$(grep -o '[0-9]*$' rerun.txt)_3.log")
echo "rerun      task 3: ${rerun#pressed    }"
[[ $rerun == *" $killed stored before"* ]] || fail "the rerun did not go on where the task was killed"
"$program" gather out/plan.?-of-$shares.store --store gathered.store > gathered-2.txt
"$program" compare gathered.store --dump > gathered.dump
cmp local.dump gathered.dump || fail "the gathered store is not the local one"
"$program" gather out/plan.?-of-$shares.store --store gathered.store > gathered-3.txt
! grep '^gathered' gathered-3.txt | grep -qv '^gathered   0 coupons' || fail "gathering again added coupons"
echo "gathered   $short of $all coupons without the rest of task 3, $all with it: every figure as in one local batch"
