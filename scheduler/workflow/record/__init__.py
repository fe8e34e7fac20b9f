"""What people say was done, measured, remarked or wrong: into the log, and back out of it.

Decisions
---------

Of several jobs under one key the open one is meant
    Of several jobs under one key the open one is meant (`record/job_words.py`), for `did` as for whatever
    else takes a job's name. Said twice it is the same again: what is recorded for the day goes before the
    plain job.

A note is an entry like a reading
    A note is an entry like a reading, with words for a value: no new kind, so the tables stay as they are
    and earlier versions show, export and take back what they do not know. The same words at one tank on one
    day are the same note; two machines that say different things in one minute are told apart by them
    (`joining`). A pin is an entry of its own with the words of the note, and the name of who said them
    where somebody else pins: it outlives the note, and is unpinned by being taken back. The vet's list is
    findings of the review.

The backlog asks about days, not about times
    The backlog asks about days, not about times: of a job that comes daily, one choice says that it was
    done on each of them. What was recorded today for an earlier day is among what can be taken back on the
    page, else nobody could mend a slip there.

A note is never thrown away
    Where the job was recorded by somebody else meanwhile, the note goes with that entry: it is taken back
    and added again with both notes, in one transaction (`Log.annotate`), as anything is changed in the log.
    Recording it once more would count the work twice, for the keeper and for the water. Where the job was
    taken back meanwhile, or cannot be recorded, there is nothing to keep it with: the page says so and
    shows it.

The plan is bent by entries
    To put a job off, to leave it out, or to plan one that comes once is an entry with its days as they were
    meant (`given`): kinds of their own, since nothing was done and nothing measured, and a plan that reads
    them takes them for nothing else. They carry how far the log was when the plan was seen; where the job was
    done or bent since, they are refused: two people who bend one job would else bend it twice. What was put
    off twice is taken back from its end. Alarms and quarantine are asked about; they are never forbidden,
    since who is there knows more than the program.

Who did it is corrected, not changed
    Where somebody else did what is recorded, the entry is taken back and stands anew with the right name, in
    one transaction: minutes and turns follow, and both are seen in the history.
"""
