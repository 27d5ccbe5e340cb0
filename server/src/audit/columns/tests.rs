//! Every value is read as it was written, and hostile bytes end in a fault.

use proptest::prelude::*;

use super::super::encoding::{
    Borrowed, DecodeFaultKind, Fraction, MOST_VALUES, Value, encode_borrowed,
};
use super::{KnownTexts, of_columns, to_columns};

fn known() -> KnownTexts {
    let source =
        "loftwright revision 1\n8\ncontract\ndecide a_name : angle\n  by x\n    2 gives 3\n";
    KnownTexts::of_source(source.as_bytes()).expect("texts")
}

fn values() -> impl Strategy<Value = Value> {
    let text = prop_oneof![
        "[ab]{0,2}",
        Just("a_name".to_owned()),
        Just("2 gives 3".to_owned())
    ];
    let leaf = prop_oneof![
        Just(Value::Nothing),
        any::<bool>().prop_map(Value::Flag),
        any::<i128>().prop_map(Value::Whole),
        (-9_i128..9).prop_map(Value::Whole),
        (-9_i128..9).prop_map(|above| Value::number(above * 2 + 1, 8).expect("lowest terms")),
        text.clone().prop_map(Value::Text),
        proptest::collection::vec(any::<u8>(), 0..3).prop_map(Value::Bytes),
    ];
    leaf.prop_recursive(5, 80, 6, move |inner| {
        let key = prop_oneof!["[a-c]", Just("name".to_owned())];
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..6).prop_map(Value::List),
            proptest::collection::btree_map(key, inner, 0..4).prop_map(Value::Map),
        ]
    })
}

proptest! {
    #[test]
    fn a_value_is_read_as_it_was_written(value in values()) {
        let (value, known) = (Borrowed::from(&value), known());
        let bytes = to_columns(&value, &known).expect("bytes");
        prop_assert_eq!(of_columns(&bytes, &known), Ok(value));
    }

    #[test]
    fn bytes_that_were_changed_or_cut_end_in_a_value_or_a_fault(
        value in values(), at in any::<prop::sample::Index>(), bit in 0..8_u8,
    ) {
        let known = known();
        let mut bytes = to_columns(&Borrowed::from(&value), &known).expect("bytes");
        let at = at.index(bytes.len());
        prop_assert!(of_columns(bytes.get(..at).expect("within"), &known).is_err());
        if let Some(byte) = bytes.get_mut(at) {
            *byte ^= 1 << bit;
        }
        // Whatever it is now: what is read can be written.
        if let Ok(other) = of_columns(&bytes, &known) {
            prop_assert!(encode_borrowed(&other).is_ok());
        }
    }
}

/// By hand, from the words at the head of this folder: 0xef is no number of a text below.
#[test]
fn the_bytes_are_those_of_the_description() {
    let one = |name: &str, number: i128| {
        Value::map([("name", name.into()), ("zz", Value::Whole(number))])
    };
    let value = Value::List(vec![
        one("xy", 5),
        one("xy", -1),
        one("q", 0),
        Value::Nothing,
    ]);
    let known = known();
    let name = u8::try_from(2 * known.number("name").expect("a name") % 128 + 1).expect("small");
    let name = [
        name | 0x80,
        u8::try_from((2 * known.number("name").expect("a name") + 1) >> 7).expect("small"),
    ];
    let mut expected = vec![3, 2, b'z', b'z', 2, b'x', b'y', 1, b'q'];
    // The list: one of four elements, of several tags.
    expected.extend([7, 4, 9, 8, 8, 8, 0]);
    // One form of two keys.
    expected.extend([1, 2]);
    expected.extend(name);
    expected.push(0);
    // The names, then the numbers.
    expected.extend([5, 0, 4, 0]);
    expected.extend([3, 1, 5, 1, 0xff, 0]);
    assert_eq!(to_columns(&Borrowed::from(&value), &known), Ok(expected));
}

#[test]
fn hostile_bytes_take_no_memory() {
    let known = known();
    let fault = |bytes: &[u8]| {
        of_columns(bytes, &known)
            .map(drop)
            .map_err(|fault| fault.kind)
    };
    // A list of as many elements as a length can say, each of no bytes.
    let many = [
        0, 7, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x7f, 0,
    ];
    assert_eq!(fault(&many), Err(DecodeFaultKind::TooMany));
    let length = MOST_VALUES - 1;
    let low = |shift: u32| u8::try_from(length >> shift & 0x7f).expect("seven bits");
    let just = [0, 7, low(0) | 0x80, low(7) | 0x80, low(14), 0];
    assert!(fault(&just).is_ok());
    let mut deep = vec![0];
    deep.extend([7, 1].repeat(1000));
    assert_eq!(fault(&deep), Err(DecodeFaultKind::TooDeep));
    assert_eq!(fault(&[1, 1, b'a', 0]), Err(DecodeFaultKind::UnusedText));
    assert_eq!(fault(&[0, 5, 0]), Err(DecodeFaultKind::UnknownText(0)));
    assert_eq!(
        fault(&[1, 1, b'a', 5, 2]),
        Err(DecodeFaultKind::UnknownText(2))
    );
    assert_eq!(fault(&[0, 0, 0]), Err(DecodeFaultKind::Trailing));
    assert_eq!(fault(&[0, 9, 10]), Err(DecodeFaultKind::UnknownTag(10)));
    assert_eq!(Fraction::new(2, 4), None);
}
