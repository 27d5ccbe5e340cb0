//! The placing of kept clubs, from the rules of DEVELOPERS.md, *Groups*.

use super::*;

fn degrees(loft: i64) -> State {
    State::Known(Value::Number(Rational::whole(loft)))
}

fn plan(kind: i32, lofts: &[i64]) -> PlannedKind {
    let place = |(index, loft): (usize, &i64)| PlannedClub {
        club: Some(Club(u32::try_from(index).unwrap())),
        loft: Some(degrees(*loft)),
    };
    PlannedKind {
        kind,
        at_any_loft: false,
        places: lofts.iter().enumerate().map(place).collect(),
    }
}

fn kept(kind: i32, loft: State) -> KeptClub {
    KeptClub {
        club: Club(99),
        kind,
        loft,
    }
}

/// The kept club in each place of the bag.
fn holders(plan: Vec<PlannedKind>, kept: &[KeptClub]) -> Vec<Option<usize>> {
    let bag = standard_set(plan, kept);
    bag.into_iter().map(|club| club.kept).collect()
}

#[test]
fn a_kept_club_holds_the_nearest_place_of_its_kind() {
    assert_eq!(
        holders(vec![plan(1, &[15, 18, 21])], &[kept(1, degrees(19))]),
        [None, Some(0), None]
    );
}

#[test]
fn three_degrees_are_within_three_and_more_are_not() {
    assert_eq!(
        holders(vec![plan(1, &[15])], &[kept(1, degrees(18))]),
        [Some(0)]
    );
    assert_eq!(
        holders(vec![plan(1, &[15])], &[kept(1, degrees(19))]),
        [None, Some(0)]
    );
}

#[test]
fn of_two_places_equally_near_the_first_is_taken() {
    assert_eq!(
        holders(vec![plan(1, &[15, 19])], &[kept(1, degrees(17))]),
        [Some(0), None]
    );
}

#[test]
fn the_second_kept_club_takes_what_is_still_free_or_is_one_more_after_its_kind() {
    let two = [
        kept(1, degrees(15)),
        kept(1, degrees(15)),
        kept(1, degrees(15)),
    ];
    let bag = vec![plan(1, &[15, 18]), plan(2, &[22])];
    assert_eq!(holders(bag, &two), [Some(0), Some(1), Some(2), None]);
}

#[test]
fn a_driver_takes_its_place_at_any_loft() {
    let driver = PlannedKind {
        at_any_loft: true,
        ..plan(0, &[9])
    };
    assert_eq!(holders(vec![driver], &[kept(0, degrees(14))]), [Some(0)]);
}

#[test]
fn a_club_of_unknown_loft_is_one_more_and_so_is_one_where_the_plan_is_open() {
    let unknown = || State::Undecided(Box::default());
    assert_eq!(
        holders(vec![plan(1, &[15])], &[kept(1, unknown())]),
        [None, Some(0)]
    );
    let mut open = plan(1, &[15]);
    open.places[0].loft = Some(unknown());
    assert_eq!(
        holders(vec![open], &[kept(1, degrees(15))]),
        [None, Some(0)]
    );
}

/// The plan has the kept club of 24 degrees; the one that it does not speak of comes first and
/// finds no free place near it.
#[test]
fn a_kept_club_stands_where_the_plan_has_it() {
    let mut planned = plan(1, &[15, 24]);
    planned.places[1].club = Some(Club(99));
    let clubs = [
        KeptClub {
            club: Club(98),
            ..kept(1, degrees(23))
        },
        kept(1, degrees(24)),
    ];
    assert_eq!(holders(vec![planned], &clubs), [None, Some(1), Some(0)]);
}
