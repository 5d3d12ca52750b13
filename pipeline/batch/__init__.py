"""Many recordings in one go: on the processes of this machine, or on a Dask cluster.

queue      which recordings, and where the findings of each belong
work       what a worker does: look at a recording, hear it
processes  workers of this machine          cluster    workers of a Dask cluster
running    the batch itself: skip what is done, hear the rest, keep the report
report     report.json                      table      what the terminal shows
"""
