//! The ticket of answers that are written here by hand: what must stand at which work.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use loftwright_dsl::program::{BENCH_WORK, Digests, Layer};
use loftwright_engine::recommendation::{
    CautionReport, ClubBuild, PartBuild, Recommendation, Settled, ShownValue, Tolerances, ValueKind,
};
use loftwright_engine::ticket::{BENCH_WORKS, Item, Task, Ticket, Wanted, ticket};
use loftwright_engine::{CONTRACT_RULES, CONTRACT_VERSION};

fn shown(text: &str, exact: &str) -> ShownValue {
    ShownValue {
        text: text.to_owned(),
        kind: ValueKind::Quantity,
        exact: exact.to_owned(),
        measure: String::new(),
    }
}

/// A value whose number stands before its unit.
fn value(text: &str) -> Settled {
    let exact = text.split(' ').next().unwrap();
    Settled::Value(shown(text, exact))
}

fn part(id: &str, fields: &[(&str, &str)]) -> PartBuild {
    let field = |(name, text): &(&str, &str)| {
        let exact = text.split(' ').next().unwrap();
        ((*name).to_owned(), shown(text, exact))
    };
    PartBuild {
        choice: "iron_head".to_owned(),
        part_id: id.to_owned(),
        piece_id: Some("P1".to_owned()),
        is_ordered: false,
        lead_time_days: None,
        says: None,
        setting: Vec::new(),
        fields: fields.iter().map(field).collect(),
        computed: Vec::new(),
    }
}

/// A head that measures 30.4 deg and lies at 62 deg, bent a degree strong and two upright.
fn iron(name: &str) -> ClubBuild {
    let head = part(
        "H-7",
        &[
            ("stamped_loft", "30 deg"),
            ("measured_loft", "30.4 deg"),
            ("lie", "62 deg"),
        ],
    );
    ClubBuild {
        name: name.to_owned(),
        kind: "iron".to_owned(),
        number: Some(7),
        is_kept: false,
        loft: value("29.5 deg"),
        carry: Settled::None,
        gap: Settled::None,
        length: value("37 in"),
        lie: value("64 deg"),
        bend: value("-1 deg"),
        head: Settled::Value(head),
        shaft: Settled::Value(part("S-1", &[])),
        grip: Settled::Value(part("G-1", &[])),
        grip_wraps: value("2 "),
        target_swingweight: Settled::Value(shown("D2", "32")),
        swingweight: Settled::Value(shown("D0", "30")),
        mass: value("400 g"),
        balance: value("27 in"),
        moment: value("2700 kg*cm2"),
        target_moment: Settled::None,
        head_mass_change: value("4 g"),
        shaft_length: value("35 in"),
        tip_cut: value("2 in"),
        butt_cut: value("1 in"),
        tip_weight: value("3 g"),
        lead: value("1 g"),
        delivered_loft: value("29.4 deg"),
        tolerances: Tolerances {
            length: value("0.1 in"),
            loft: value("0.5 deg"),
            lie: value("1 deg"),
            swingweight: value("1 point"),
            moment: value("20 kg*cm2"),
        },
        named: Vec::new(),
    }
}

fn answer(clubs: Vec<ClubBuild>, cautions: Vec<CautionReport>) -> Recommendation {
    Recommendation {
        ruleset: Layer {
            name: "house".to_owned(),
            title: "A house".to_owned(),
        },
        digests: Digests {
            meaning: "m".to_owned(),
            text: "t".to_owned(),
        },
        contract_version: CONTRACT_VERSION,
        semantics_version: 1,
        hand: Some("left".to_owned()),
        clubs,
        plan: None,
        decisions: Vec::new(),
        limits: Vec::new(),
        cautions,
        missing: Vec::new(),
        assumed: Vec::new(),
        borderline: Vec::new(),
        next_reading: None,
    }
}

fn of_clubs(clubs: Vec<ClubBuild>) -> Ticket {
    ticket(&answer(clubs, Vec::new())).unwrap()
}

fn tasks<'a>(ticket: &'a Ticket, work: &str) -> &'a [Task] {
    let mut works = ticket.works.iter();
    &works.find(|known| known.name == work).unwrap().tasks
}

/// What a task says: its item, what is wanted, what it begins from, its tolerance.
fn in_short(task: &Task) -> (Item, String) {
    let wanted = match &task.wanted {
        Wanted::Part(part) => part.part_id.clone(),
        Wanted::Value(value) => value.text.clone(),
        Wanted::Position(position) => position.clone(),
        Wanted::Open(why) => format!("open: {why}"),
    };
    let from = task.from.as_ref();
    let from = from.map_or(String::new(), |from| format!("{} to ", from.text));
    let within = task.tolerance.as_ref();
    let within = within.map_or(String::new(), |within| format!(" within {}", within.text));
    (task.item, format!("{from}{wanted}{within}"))
}

#[track_caller]
fn expect(ticket: &Ticket, work: &str, wanted: &[(Item, &str)]) {
    let found: Vec<_> = tasks(ticket, work).iter().map(in_short).collect();
    let wanted: Vec<_> = wanted
        .iter()
        .map(|(item, text)| (*item, (*text).to_owned()))
        .collect();
    assert_eq!(found, wanted, "{work}");
}

#[test]
fn the_works_are_those_of_the_contract_in_its_order() {
    let line = format!("choice {BENCH_WORK} is {}\n", BENCH_WORKS.join(", "));
    assert!(CONTRACT_RULES.contains(&line), "{line}");
}

#[test]
fn every_work_has_its_tasks_in_the_order_of_the_bench() {
    let ticket = of_clubs(vec![iron("7 iron")]);
    let names: Vec<&str> = ticket.works.iter().map(|work| work.name).collect();
    assert_eq!(names, BENCH_WORKS);
    expect(
        &ticket,
        "pulling",
        &[
            (Item::Head, "H-7"),
            (Item::Shaft, "S-1"),
            (Item::Grip, "G-1"),
        ],
    );
    expect(
        &ticket,
        "cutting",
        &[
            (Item::TipCut, "2 in"),
            (Item::ButtCut, "1 in"),
            (Item::ShaftLength, "35 in"),
        ],
    );
    expect(
        &ticket,
        "setting",
        &[(Item::Head, "H-7"), (Item::TipWeight, "3 g")],
    );
    expect(&ticket, "heating", &[]);
    expect(
        &ticket,
        "bending",
        &[
            (Item::LoftBend, "30.4 deg to 29.4 deg"),
            (Item::LieBend, "62 deg to 64 deg"),
        ],
    );
    expect(&ticket, "weighing", &[(Item::HeadWeight, "1 g")]);
    expect(&ticket, "taping", &[(Item::Wraps, "2 ")]);
    expect(&ticket, "gripping", &[(Item::Grip, "G-1")]);
    expect(
        &ticket,
        "checking",
        &[
            (Item::Length, "37 in within 0.1 in"),
            (Item::Loft, "29.4 deg within 0.5 deg"),
            (Item::Lie, "64 deg within 1 deg"),
            (Item::Swingweight, "D2 within 1 point"),
        ],
    );
    assert_eq!(ticket.hand.as_deref(), Some("left"));
}

#[test]
fn a_kept_club_is_named_and_not_worked_on() {
    let kept = ClubBuild {
        is_kept: true,
        ..iron("9 iron")
    };
    let ticket = of_clubs(vec![iron("7 iron"), kept]);
    assert_eq!(ticket.kept_clubs, ["9 iron"]);
    let all = ticket.works.iter().flat_map(|work| &work.tasks);
    assert!(all.clone().count() > 0);
    assert!(all.clone().all(|task| task.club == "7 iron"));
}

#[test]
fn what_is_ordered_and_what_is_open_is_pulled_from_nowhere() {
    let ordered = PartBuild {
        piece_id: None,
        is_ordered: true,
        lead_time_days: Some(9),
        says: Some("None of this loft.".to_owned()),
        ..part("H-8", &[("stamped_loft", "34 deg")])
    };
    let club = ClubBuild {
        head: Settled::Value(ordered),
        shaft: Settled::Open("left open: none with this mass".to_owned()),
        delivered_loft: value("33 deg"),
        shaft_length: Settled::Open("blocked by `iron_shaft`".to_owned()),
        ..iron("8 iron")
    };
    let ticket = of_clubs(vec![club]);
    let pulled = tasks(&ticket, "pulling");
    let head = match &pulled.first().unwrap().wanted {
        Wanted::Part(head) => Some(head),
        _ => None,
    };
    let head = head.unwrap();
    assert!(head.is_ordered);
    assert_eq!(head.lead_time_days, Some(9));
    assert_eq!(head.measured_loft, None);
    let note = pulled.first().unwrap().note.as_deref();
    assert_eq!(note, Some("None of this loft."));
    expect(
        &ticket,
        "cutting",
        &[
            (Item::TipCut, "2 in"),
            (Item::ButtCut, "1 in"),
            (Item::ShaftLength, "open: blocked by `iron_shaft`"),
        ],
    );
    let open = in_short(pulled.get(1).unwrap());
    assert_eq!(open.1, "open: left open: none with this mass");
    // By the stamp, and said so; the lie that nobody knows is bent to all the same.
    let bent = tasks(&ticket, "bending");
    assert_eq!(in_short(bent.first().unwrap()).1, "34 deg to 33 deg");
    assert!(
        bent.first()
            .unwrap()
            .note
            .as_ref()
            .unwrap()
            .contains("measure")
    );
    assert_eq!(in_short(bent.get(1).unwrap()).1, "64 deg");
}

#[test]
fn a_sleeve_is_set_and_nothing_is_bent_that_is_right() {
    let mut head = part("D-1", &[("measured_loft", "9.1 deg"), ("lie", "57 deg")]);
    head.setting = vec![("position".to_owned(), "plus one".to_owned())];
    let driver = ClubBuild {
        head: Settled::Value(head),
        bend: value("0 deg"),
        ..iron("driver")
    };
    let right = ClubBuild {
        bend: value("0 deg"),
        lie: value("62 deg"),
        ..iron("7 iron")
    };
    let ticket = of_clubs(vec![driver, right]);
    expect(&ticket, "bending", &[]);
    let set: Vec<_> = tasks(&ticket, "setting").iter().map(in_short).collect();
    assert!(set.contains(&(Item::Sleeve, "plus one".to_owned())));
}

#[test]
fn a_club_matched_by_its_moment_is_checked_by_it() {
    let club = ClubBuild {
        target_moment: value("2750 kg*cm2"),
        ..iron("7 iron")
    };
    let ticket = of_clubs(vec![club]);
    let last = tasks(&ticket, "checking").last().map(in_short);
    let wanted = "2750 kg*cm2 within 20 kg*cm2".to_owned();
    assert_eq!(last, Some((Item::Moment, wanted)));
}

#[test]
fn a_head_that_is_too_heavy_is_noted_where_it_would_fail_the_check() {
    let heavy = |swings: &str| ClubBuild {
        swingweight: Settled::Value(shown("…", swings)),
        head_mass_change: value("-3 g"),
        lead: value("0 g"),
        ..iron("7 iron")
    };
    let note = |club| {
        let ticket = of_clubs(vec![club]);
        tasks(&ticket, "weighing").first().unwrap().note.clone()
    };
    let noted = Some("The head is 3 g too heavy for the target.".to_owned());
    assert_eq!(note(heavy("33.5")), noted);
    assert_eq!(note(heavy("33")), None);
}

#[test]
fn cautions_stand_where_they_say() {
    let caution = |name: &str, at: &[&str]| CautionReport {
        name: name.to_owned(),
        clubs: Vec::new(),
        text: format!("{name}."),
        source: None,
        at: at.iter().map(|work| (*work).to_owned()).collect(),
    };
    let cautions = vec![
        caution("pain", &[]),
        caution("lead", &["setting", "weighing"]),
    ];
    let ticket = ticket(&answer(vec![iron("7 iron")], cautions)).unwrap();
    let names = |cautions: &[CautionReport]| -> Vec<String> {
        cautions
            .iter()
            .map(|caution| caution.name.clone())
            .collect()
    };
    assert_eq!(names(&ticket.cautions), ["pain"]);
    for work in &ticket.works {
        let has_lead = ["setting", "weighing"].contains(&work.name);
        let wanted: &[&str] = if has_lead { &["lead"] } else { &[] };
        assert_eq!(names(&work.cautions), wanted, "{}", work.name);
    }
}

#[test]
fn there_is_no_ticket_without_a_set() {
    assert_eq!(ticket(&answer(Vec::new(), Vec::new())), None);
}
