//! The encoding by its properties, and byte by byte against the list at its head.

use std::collections::BTreeMap;

use proptest::collection::{btree_map, vec};
use proptest::prelude::*;

use super::{
    Borrowed, DecodeFault, DecodeFaultKind, EncodeFault, FieldFault, Fields, Fraction, MOST_LEVELS,
    MOST_VALUES, Value, decode, decode_first, encode, encode_borrowed,
};

fn any_value() -> impl Strategy<Value = Value> {
    let number = (any::<i128>(), 2..i128::MAX).prop_filter_map("lowest terms", |(above, below)| {
        Fraction::new(above, below).map(Value::Fraction)
    });
    let leaf = prop_oneof![
        Just(Value::Nothing),
        any::<bool>().prop_map(Value::Flag),
        any::<i128>().prop_map(Value::Whole),
        (-300_i128..300).prop_map(Value::Whole),
        number,
        ".{0,12}".prop_map(Value::Text),
        vec(any::<u8>(), 0..200).prop_map(Value::Bytes),
    ];
    leaf.prop_recursive(5, 40, 6, |inner| {
        prop_oneof![
            vec(inner.clone(), 0..6).prop_map(Value::List),
            btree_map(".{0,6}", inner, 0..6).prop_map(Value::Map),
        ]
    })
}

fn few_bytes() -> impl Strategy<Value = Vec<u8>> {
    vec(prop_oneof![0_u8..12, any::<u8>()], 0..24)
}

proptest! {
    #[test]
    fn what_is_written_is_read_again(value in any_value()) {
        let bytes = encode(&value).expect("not deep");
        prop_assert_eq!(decode(&bytes), Ok(Borrowed::from(&value)));
        // A value says itself where it ends.
        let mut longer = bytes.clone();
        longer.push(0);
        let at = bytes.len();
        let trailing = DecodeFault { at, kind: DecodeFaultKind::Trailing };
        prop_assert_eq!(decode(&longer), Err(trailing));
        prop_assert_eq!(decode_first(&longer), Ok((Borrowed::from(&value), at)));
        for end in 0..at {
            prop_assert!(decode(&bytes[..end]).is_err());
        }
    }

    #[test]
    fn a_flipped_bit_is_refused_or_is_another_value(value in any_value()) {
        let bytes = encode(&value).expect("not deep");
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut flipped = bytes.clone();
                flipped[at] ^= 1 << bit;
                prop_assert_ne!(decode(&flipped), Ok(Borrowed::from(&value)));
            }
        }
    }

    /// The other way round: whatever is read is what would have been written.
    #[test]
    fn bytes_that_are_read_are_the_only_ones(bytes in few_bytes()) {
        if let Ok(value) = decode(&bytes) {
            prop_assert_eq!(encode_borrowed(&value), Ok(bytes.clone()));
        }
    }
}

#[test]
fn the_bytes_are_those_of_the_list() {
    let map = BTreeMap::from([
        ("b".to_owned(), Value::Flag(true)),
        ("a".to_owned(), Value::Whole(-1)),
    ]);
    let long = "x".repeat(300);
    let mut long_bytes = vec![5, 0xac, 0x02];
    long_bytes.extend(long.bytes());
    let cases = [
        (Value::Nothing, vec![0]),
        (Value::Flag(false), vec![1]),
        (Value::Flag(true), vec![2]),
        (Value::Whole(0), vec![3, 0]),
        (Value::Whole(1), vec![3, 1, 1]),
        (Value::Whole(127), vec![3, 1, 0x7f]),
        (Value::Whole(128), vec![3, 2, 0, 0x80]),
        (Value::Whole(-1), vec![3, 1, 0xff]),
        (Value::Whole(-128), vec![3, 1, 0x80]),
        (Value::Whole(-129), vec![3, 2, 0xff, 0x7f]),
        (
            Value::number(-1, 2).expect("a half"),
            vec![4, 1, 0xff, 1, 2],
        ),
        (Value::Text("é".to_owned()), vec![5, 2, 0xc3, 0xa9]),
        (Value::Text(long), long_bytes),
        (Value::Bytes(vec![9, 8]), vec![6, 2, 9, 8]),
        (Value::List(vec![Value::Nothing]), vec![7, 1, 0]),
        (Value::Map(map), vec![8, 2, 1, b'a', 3, 1, 0xff, 1, b'b', 2]),
    ];
    for (value, bytes) in cases {
        assert_eq!(encode(&value), Ok(bytes.clone()), "{value:?}");
        assert_eq!(decode(&bytes), Ok(Borrowed::from(&value)));
    }
}

#[test]
fn other_ways_to_write_a_value_are_refused() {
    let cases: [(&[u8], usize, DecodeFaultKind); 15] = [
        (&[], 0, DecodeFaultKind::CutShort),
        (&[9], 0, DecodeFaultKind::UnknownTag(9)),
        (&[3, 1, 0], 1, DecodeFaultKind::Whole),
        (&[3, 2, 0, 1], 1, DecodeFaultKind::Whole),
        (&[3, 2, 0xff, 0xff], 1, DecodeFaultKind::Whole),
        (&[3, 17], 1, DecodeFaultKind::Whole),
        (&[4, 1, 2, 1, 4], 0, DecodeFaultKind::Fraction),
        (&[4, 1, 2, 1, 1], 0, DecodeFaultKind::Fraction),
        (&[4, 0, 1, 2], 0, DecodeFaultKind::Fraction),
        (&[5, 0x80, 0], 1, DecodeFaultKind::Length),
        (
            &[
                5, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x7f,
            ],
            1,
            DecodeFaultKind::Length,
        ),
        (&[5, 2, b'a', 0xff], 3, DecodeFaultKind::NotText),
        (
            &[7, 0xff, 0xff, 0xff, 0xff, 0x0f],
            6,
            DecodeFaultKind::CutShort,
        ),
        (
            &[8, 2, 1, b'b', 0, 1, b'a', 0],
            5,
            DecodeFaultKind::KeyOrder,
        ),
        (
            &[8, 2, 1, b'a', 0, 1, b'a', 0],
            5,
            DecodeFaultKind::KeyOrder,
        ),
    ];
    for (bytes, at, kind) in cases {
        assert_eq!(decode(bytes), Err(DecodeFault { at, kind }), "{bytes:?}");
    }
}

#[test]
fn nesting_ends_at_the_limit() {
    let nested = |levels| {
        let wrap = |inner, _| Value::List(vec![inner]);
        (0..levels).fold(Value::Nothing, wrap)
    };
    let deepest = nested(MOST_LEVELS);
    let bytes = encode(&deepest).expect("as deep as may be");
    assert_eq!(decode(&bytes), Ok(Borrowed::from(&deepest)));
    assert_eq!(encode(&nested(MOST_LEVELS + 1)), Err(EncodeFault::TooDeep));
    let mut deeper = vec![7, 1];
    deeper.extend(bytes);
    let found = decode(&deeper).map_err(|fault| fault.kind);
    assert_eq!(found, Err(DecodeFaultKind::TooDeep));
}

#[test]
fn a_value_is_made_of_so_many_and_no_more() {
    let list = |count| Value::List(vec![Value::Nothing; count]);
    // The list is one itself.
    let largest = list(MOST_VALUES - 1);
    let mut bytes = encode(&largest).expect("as many as may be");
    assert_eq!(decode(&bytes), Ok(Borrowed::from(&largest)));
    assert_eq!(encode(&list(MOST_VALUES)), Err(EncodeFault::TooMany));
    bytes.splice(1..4, [0x80, 0x80, 0x10]);
    bytes.push(0);
    let at = bytes.len() - 1;
    let kind = DecodeFaultKind::TooMany;
    assert_eq!(decode(&bytes), Err(DecodeFault { at, kind }));
}

#[test]
fn a_map_is_taken_apart_to_the_last_name() {
    let map = Value::map([("size", Value::from(3_u64)), ("name", "log".into())]);
    let fields = || Fields::of(Borrowed::from(&map)).expect("a map");
    let mut taken = fields();
    assert_eq!(taken.needed::<u32>("size"), Ok(3));
    assert_eq!(taken.optional::<String>("name"), Ok(Some("log".to_owned())));
    assert_eq!(
        taken.needed::<bool>("flag"),
        Err(FieldFault::Missing("flag"))
    );
    assert_eq!(taken.none_left(), Ok(()));
    assert!(matches!(
        fields().needed::<u64>("name"),
        Err(FieldFault::Form { name: "name", .. })
    ));
    let left = fields().none_left();
    assert_eq!(left, Err(FieldFault::Unknown("name".to_owned())));
    assert!(matches!(
        Fields::of(Borrowed::Nothing),
        Err(FieldFault::NoMap)
    ));
}
