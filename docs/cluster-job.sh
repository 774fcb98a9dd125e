#!/bin/bash
# Press one share of a plan per task of a Slurm job array (docs/cluster.md):
#   sbatch --array=1-4 docs/cluster-job.sh PLAN.yaml 4
# The number of shares is an argument, not the size of the array, so that one task can be run again by itself:
#   sbatch --array=3 docs/cluster-job.sh PLAN.yaml 4
#SBATCH --job-name=strutpress
#SBATCH --cpus-per-task=1
#SBATCH --mem-per-cpu=1G
#SBATCH --time=04:00:00
#SBATCH --requeue
#SBATCH --output=%x-%A_%a.log
set -eu
plan=${1:?usage: sbatch --array=1-N cluster-job.sh PLAN.yaml N}
shares=${2:?usage: sbatch --array=1-N cluster-job.sh PLAN.yaml N}
exec "${STRUTPRESS:-strutpress}" batch "$plan" --share "$SLURM_ARRAY_TASK_ID/$shares" \
    --threads "${SLURM_CPUS_PER_TASK:-1}"
