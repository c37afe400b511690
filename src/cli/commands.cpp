#include "cli/commands.h"

namespace lathbook::cli {

std::span<const Command> commands() {
  static const std::vector<Command> kCommands = {
      {"new",
       "Make an empty book",
       "BOOK.lathbook and fields such as title=\"My house\"",
       "  lathbook new house.lathbook title=\"12 Hill Road\" rules=gb region=wales\n"
       "  lathbook new house.lathbook title=\"The Gap\" rules=au region=qld\n"
       "The currency is the country's unless another is given. Fields: `lathbook\n"
       "fields about`.",
       {},
       run_new},
      {"demo",
       "Make the demo book: an invented house to look round in",
       "BOOK.lathbook",
       "  lathbook demo house.lathbook\n"
       "  lathbook demo house.lathbook --country au     the same house under other rules",
       {{"--country", "country", "RULES", "Whose rules hold in it: au, gb"}},
       run_demo},
      {"check",
       "May this job start? What it meets, who may do it, the cheapest way on",
       "JOB, and the book",
       "  lathbook check J3            one job, with reasons\n"
       "  lathbook check               every job, with its verdict and next step\n"
       "  lathbook check C1            a clearance certificate, by its own figures\n"
       "Exit status for one job: 0 may start, 10 with precautions, 11 test first, 12\n"
       "have it removed first or go round, 13 not by you; 2 for wrong words,\n"
       "1 for a failure.",
       {},
       run_check},
      {"event",
       "After a mistake: what was in the air, who breathed it, what it means",
       "EVENT, and the book; nothing for the list",
       "  lathbook event --now                      what to do in the next ten minutes\n"
       "  lathbook event --now --family textured-coating\n"
       "  lathbook event E1                         levels, doses and risks as ranges\n"
       "The same seed gives the same answer.",
       {{"--now", "now", "", "What to do at once, in order; needs no book"},
        {"--family", "family", "FAMILY", "With --now: what kind of product it was"},
        {"--large", "large", "", "With --now: more than a few holes or crumbs"},
        {"--draws", "draws", "N", "At most this many draws (16384)"},
        {"--seed", "seed", "N", "Which draws (1)"}},
       run_event},
      {"test-plan",
       "What is worth testing, in what order, and what each result would change",
       "the book",
       "  lathbook test-plan           the tests that save more than they cost\n"
       "What a sample costs is written down with\n"
       "  lathbook set about test_fixed=15 test_each=28\n"
       "and what a job costs either way in its cost_plain, cost_as_asbestos and\n"
       "cost_elsewhere.",
       {},
       run_test_plan},
      {"show",
       "Look at the book, or one thing in it",
       "nothing, an id (M7, R1, J3), a kind (materials, rooms …), or plan",
       "  lathbook show                the house at a glance\n"
       "  lathbook show M7             a material: standing, belief, scores, what to do\n"
       "  lathbook show materials      a list\n"
       "  lathbook show plan           the storeys, drawn\n"
       "  lathbook show plan --storey L1 --svg ground.svg",
       {{"--storey", "storey", "ID", "With plan: this storey alone"},
        {"--job", "job", "ID", "With plan: this job's cuts alone, and any other route for them"},
        {"--svg", "svg", "FILE", "With plan: a line drawing to print and hand on"},
        {"--replace", "replace", "", "Replace the file if it is there"}},
       run_show},
      {"serve",
       "Open the book in the browser, on this machine alone",
       "the book",
       "  lathbook serve house.lathbook\n"
       "  lathbook serve house.lathbook --phone\n"
       "Prints the address and opens it. The address holds a key that is new every\n"
       "time; only this machine can reach it. Ctrl-C ends it. Other commands may\n"
       "work on the book meanwhile.\n"
       "With --phone, phones on the same network may open it too, over TLS, once\n"
       "each was paired by a code of six digits; nobody from outside can. A phone\n"
       "warns once of the certificate this machine made: compare its fingerprint.",
       {{"--port", "port", "N", "Listen on this port (the book's own, if it is free)"},
        {"--phone", "phone", "", "Also let in phones on the private network"},
        {"--no-open", "no_open", "", "Print the address only, and do not open it"}},
       run_serve},
      {"phones",
       "The phones that may open your books, and letting one in no longer",
       "",
       "  lathbook phones              who is paired, since when\n"
       "  lathbook phones --revoke P1  a phone that is lost or sold\n"
       "One is paired with `lathbook serve --phone`.",
       {{"--revoke", "revoke", "ID", "Let this one in no longer; it is out at once"}},
       run_phones},
      {"waste",
       "How the waste leaves: who may take it, wrapping, the fewest trips, papers",
       "the book",
       "  lathbook waste               the best of the book's vehicles and sites\n"
       "  lathbook waste --vehicle V2 --site TS1 --svg load.svg\n"
       "Write down what there is first: `lathbook add piece`, `add vehicle`, `add site`.",
       {{"--vehicle", "vehicle", "ID", "The vehicle (the best of the book's)"},
        {"--site", "site", "ID", "The site (the best of the book's)"},
        {"--nation", "nation", "NAME", "Whose papers: a region of the country, instead of the one the book names"},
        {"--svg", "svg", "FILE", "Draw the loads to scale"},
        {"--replace", "replace", "", "Replace the file if it is there"}},
       run_waste},
      {"timeline",
       "When each job can start, and what holds it up",
       "the book",
       "  lathbook timeline            the plan as a chart\n"
       "  lathbook timeline --away 2026-12-20/2027-01-04,2027-02-13/2027-02-21\n"
       "  lathbook timeline --dry 2027-04-01/2027-09-30 --ics house.ics\n"
       "  lathbook add about/away from=2026-12-20 to=2027-01-04     (kept in the book)",
       {{"--away", "away", "FROM/TO,…", "Days on which nobody is at home, besides the book's"},
        {"--dry", "dry", "FROM/TO,…", "Only open roofs in these days, or the book's"},
        {"--ics", "ics", "FILE", "Write a calendar with reminders"},
        {"--svg", "svg", "FILE", "Draw the chart"},
        {"--replace", "replace", "", "Replace the files if they are there"}},
       run_timeline},
      {"add",
       "Add something to the book",
       "KIND or LIST, then field=value …",
       "  lathbook add room name=Kitchen storey=L1 outline=\"0,0 4,0 4,3 0,3\"\n"
       "  lathbook add job title=\"New light\" by=householder\n"
       "  lathbook add J1/cuts task=drill room=R1 face=ceiling shape=\"point 2,1.5\"\n"
       "`lathbook fields KIND` lists the fields and how to write them.",
       {{"--from", "from", "FILE", "Read the fields from a JSON file (- for standard input)"}},
       run_add},
      {"set",
       "Change fields of something in the book",
       "ID, about, or an entry such as J3/cuts/1; then field=value …",
       "  lathbook set M7 damage=low\n"
       "  lathbook set J3/cuts/1 minutes=45\n"
       "  lathbook set M7 thickness_mm=      (an empty value takes the field away)",
       {{"--from", "from", "FILE", "Read the fields from a JSON file (- for standard input)"}},
       run_set},
      {"remove",
       "Take something out of the book",
       "ID, or an entry such as J3/cuts/1",
       "  lathbook remove J4\n"
       "What other things lean on stays until they are changed.",
       {{"--with-what-leans-on-it", "leaning", "", "Remove everything that refers to it as well"}},
       run_remove},
      {"attach",
       "Put a photo or paper into the book",
       "FILE, then field=value …",
       "  lathbook attach ceiling.jpg title=\"Hall ceiling\" material=M2 dated=2026-11-20\n"
       "The bytes are kept inside the book's file. A picture is kept as what is seen on\n"
       "it: upright, at most 4000 px, without the place, time and camera in the file.",
       {{"--as-it-is", "as_it_is", "", "Keep a picture byte for byte, place and time included"}},
       run_attach},
      {"read-report",
       "What a laboratory's PDF says of the samples, as proposals to confirm",
       "REPORT.pdf, and the book",
       "  lathbook read-report report.pdf house.lathbook\n"
       "Writes nothing. Each sample the report names is shown with the lines it stands\n"
       "on and, where they are plain, the command that would record it. What is not\n"
       "plain is left to you to read. Its text is taken out by pdftotext, of the\n"
       "package poppler-utils.",
       {},
       run_read_report},
      {"undo", "Take back the last change", "the book", "", {}, run_undo},
      {"redo", "Do the change again that was taken back last", "the book", "", {}, run_redo},
      {"history",
       "The changes made to the book, newest first",
       "the book",
       "",
       {{"--last", "last", "N", "How many (20)"}},
       run_history},
      {"fields",
       "What something is described by, and how to write it",
       "KIND, or a list such as job/cuts",
       "  lathbook fields material\n  lathbook fields job/cuts",
       {},
       run_fields},
      {"calc",
       "One calculation: JSON in, JSON out, no book",
       "TOPIC, then FILE or -",
       "  lathbook calc material-score question.json\n"
       "  lathbook calc --list\n"
       "  lathbook calc material-score --schema",
       {{"--list", "list", "", "Name the topics"},
        {"--schema", "schema", "", "Print the JSON Schema of a topic's input and answer"}},
       run_calc},
      {"export",
       "Write the whole book as open JSON",
       "the book",
       "  lathbook export house.lathbook --to house.json",
       {{"--to", "to", "FILE", "Where to (standard output when left out)"},
        {"--without-files", "without_files", "", "Leave the bytes of photos and papers out"},
        {"--replace", "replace", "", "Replace the file if it is there"}},
       run_export},
      {"import",
       "Make a book from open JSON",
       "FILE.json BOOK.lathbook",
       "  lathbook import house.json house.lathbook",
       {},
       run_import},
      {"verify",
       "Look for damage in the book's file",
       "the book",
       "What it finds: docs/formats/book-file.md. What can be saved of a damaged book\n"
       "goes into a new one with `lathbook recover`.",
       {},
       run_verify},
      {"backup",
       "Copy the book while it may be in use",
       "the book",
       "  lathbook backup house.lathbook --to /media/stick/ --keep 7\n"
       "  lathbook backup house.lathbook --to /media/stick/ --passphrase\n"
       "  lathbook backup house.lathbook --to /media/stick/house.lathbook\n"
       "In a folder (one that is there, or a name ending in /) each copy is named after\n"
       "the book and the moment in UTC. The copy is read back before it counts.\n"
       "With --keep 7 the newest 7 copies of this book stay, and the newest of each\n"
       "month; older ones are removed, and named. Without it none is.\n"
       "A passphrase cannot be found out or replaced: lose it and the copy is lost.",
       {{"--to", "to", "PLACE", "The folder or the file to copy to"},
        {"--keep", "keep", "N", "Keep the newest N copies in the folder and one a month"},
        {"--passphrase", "passphrase", "", "Lock the copy: asks for a passphrase, twice"},
        {"--passphrase-file", "passphrase_file", "FILE", "Lock it with the first line of this file"},
        {"--replace", "replace", "", "Replace the file if it is there"}},
       run_backup},
      {"restore",
       "Make a book from a copy",
       "the copy that backup made",
       "  lathbook restore house-20261125-140501.lathbook --to house.lathbook\n"
       "Asks for the passphrase when the copy is locked. With a wrong one, or a copy\n"
       "that is damaged, nothing is written.",
       {{"--to", "to", "BOOK.lathbook", "The book to make"},
        {"--passphrase-file", "passphrase_file", "FILE", "The passphrase is the first line of this file"}},
       run_restore},
      {"recover",
       "Save what is intact of a damaged book into a new one",
       "the damaged book",
       "  lathbook recover house.lathbook --to saved.lathbook\n"
       "Lists what could not be saved. The damaged file is not touched. Only what fits\n"
       "its checksum is taken, and of an item only how it stood last: an older state is\n"
       "listed, not saved. Exit status: 0 all was saved, 1 something is lost.",
       {{"--to", "to", "BOOK.lathbook", "The book to make"}},
       run_recover},
      {"papers",
       "Make the papers to hand over: register, briefs, labels, tables, calendar",
       "names of papers or jobs (all when none is named), and the book",
       "  lathbook papers --to papers/            every paper\n"
       "  lathbook papers brief J3 --to papers/   the brief for one job, two pages\n"
       "  lathbook papers handover --without health,costs,people --to papers/\n"
       "Papers: register, brief, scope, sample-labels, custody, warning-labels, waste,\n"
       "calendar, tables, handover.",
       {{"--to", "to", "FOLDER", "Where to (made if it is not there)"},
        {"--force", "force", "", "Replace papers that are there"},
        {"--paper", "paper", "SIZE", "a4 (as it is) or letter"},
        {"--without", "without", "SECTIONS", "Leave out of the handover: health, costs, people, photos"}},
       run_papers},
      {"completion",
       "Print completion for a shell",
       "bash, zsh or fish",
       "  source <(lathbook completion bash)",
       {},
       run_completion},
      {"manual", "Print the manual page (roff)", "", "  lathbook manual | man -l -", {}, run_manual},
  };
  return kCommands;
}

}  // namespace lathbook::cli
