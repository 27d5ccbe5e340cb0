//! The contract's models and the catalogue's: the same names and signatures, and an answer or a
//! named refusal over the whole of every declared range.

use loftwright_dsl::program::{Model, Program, Value};
use loftwright_engine::model::ModelId;
use loftwright_tests::engine_side;

fn program() -> Program {
    engine_side::program("common")
}

fn float(value: &Value) -> f64 {
    let Value::Number(number) = value else {
        panic!("{value:?} bounds an argument and is no number");
    };
    number.to_f64()
}

#[test]
fn every_model_of_the_contract_is_in_the_catalogue_with_the_same_arguments() {
    let program = program();
    for model in program.models.iter() {
        let computed = ModelId::from_name(&model.name).unwrap();
        let declared: Vec<&str> = model
            .arguments
            .iter()
            .map(|one| one.name.as_str())
            .collect();
        assert_eq!(declared, computed.arguments(), "{}", model.name);
    }
    for computed in ModelId::all() {
        let mut declared = program.models.iter();
        assert!(
            declared.any(|model| model.name == computed.name()),
            "{computed:?}"
        );
    }
}

/// How many points of a range are tried, the ends among them.
const POINTS: usize = 3;

/// The arguments of one call of the sweep: the digits of its number, in threes.
fn arguments(model: &Model, mut number: usize) -> Vec<f64> {
    let mut found = Vec::new();
    for argument in &model.arguments {
        let (low, high) = argument.between.as_ref().map_or_else(
            || panic!("`{}` of `{}` has no range", argument.name, model.name),
            |(low, high)| (float(low), float(high)),
        );
        let share = [0.0, 0.37, 1.0][number % POINTS];
        found.push(low + (high - low) * share);
        number /= POINTS;
    }
    found
}

#[test]
fn over_its_whole_range_a_model_answers_with_a_number_or_names_an_argument() {
    for model in program().models.iter() {
        let computed = ModelId::from_name(&model.name).unwrap();
        let mut answers = 0;
        let calls = POINTS.pow(model.arguments.len().try_into().unwrap());
        for number in 0..calls {
            match computed.call(&arguments(model, number)).unwrap() {
                Ok(answer) => {
                    assert!(answer.value.is_finite(), "{}", model.name);
                    answers += 1;
                }
                Err(refusal) => assert!(
                    computed.arguments().contains(&refusal.argument),
                    "{}: {refusal}",
                    model.name
                ),
            }
        }
        assert!(
            answers * 4 > calls,
            "`{}` answers {answers} of {calls}",
            model.name
        );
    }
}
