//! Everything but decisions.

use super::{House, Input, Kind};

impl House {
    /// A choice or a scale, and an input of it.
    pub(super) fn vocabulary(&mut self) {
        const WORDS: [&str; 6] = ["slight", "small", "middling", "large", "vast", "endless"];
        let count = 2 + self.random.below(5);
        let words: Vec<String> = WORDS
            .iter()
            .take(count)
            .map(|word| (*word).to_owned())
            .collect();
        let is_scale = self.random.chance(50);
        let vocabulary = self.name("word");
        if is_scale {
            let halves = *self.random.one_of(&["", ", in halves"]);
            self.line(&format!(
                "scale {vocabulary} is {}{halves}",
                words.join(" < ")
            ));
        } else {
            self.line(&format!("choice {vocabulary} is {}", words.join(", ")));
        }
        self.end();
        let kind = Kind::Words {
            vocabulary,
            words,
            is_scale,
        };
        self.input_of(kind);
    }

    /// An input of some type.
    pub(super) fn input(&mut self) {
        const QUANTITIES: [(&str, &str, i64, i64); 5] = [
            ("length", "in", 72, 200),
            ("speed", "mph", 120, 600),
            ("angle", "deg", -80, 40),
            ("mass", "g", 100, 900),
            ("time", "s", 0, 40),
        ];
        let kind = match self.random.below(8) {
            0 | 1 => Kind::Flag,
            2 => Kind::Count { low: 0, high: 40 },
            3 => Kind::Date,
            _ => {
                let (type_name, unit, low, high) = *self.random.one_of(&QUANTITIES);
                Kind::Quantity {
                    type_name,
                    unit,
                    low,
                    high,
                }
            }
        };
        self.input_of(kind);
    }

    fn input_of(&mut self, kind: Kind) {
        let name = self.name("reading");
        let shown = match &kind {
            Kind::Quantity { unit: "in", .. } if self.random.chance(40) => {
                ", shown in inches, to 1/8"
            }
            _ => "",
        };
        self.line(&format!("input {name} : {}{shown}", kind.type_text()));
        let texts = self.texts();
        self.line(&format!("  ask {texts}"));
        match &kind {
            Kind::Count { low, high } => self.line(&format!("  between {low} and {high}")),
            Kind::Quantity {
                unit, low, high, ..
            } => {
                let (low, high) = (low / 4, high / 4);
                self.line(&format!("  between {low} {unit} and {high} {unit}"));
                if self.random.chance(40) {
                    self.line(&format!("  spread 1/4 {unit}"));
                }
            }
            _ => {}
        }
        if self.random.chance(15) {
            let value = self.literal(&kind);
            self.line(&format!("  default {value}"));
        }
        if self.random.chance(15) {
            let private = *self.random.one_of(&["private", "private health"]);
            self.line(&format!("  {private}"));
        }
        if self.random.chance(10) {
            let earlier = self.name("earlier");
            self.line(&format!("  formerly {earlier}"));
        }
        self.end();
        self.inputs.push(Input { name, kind });
    }

    pub(super) fn let_value(&mut self) {
        let name = self.name("named");
        match self.input_where(Kind::is_quantity) {
            Some(input) if self.random.chance(60) => {
                let formula = self.formula(&input.kind, 2);
                let type_text = input.kind.type_text();
                if self.random.chance(50) {
                    self.line(&format!("let {name} : {type_text} = {formula}"));
                } else {
                    // A line that goes on inside parentheses.
                    self.line(&format!("let {name} : {type_text} = ({formula}"));
                    self.line("    )");
                }
            }
            _ => {
                let condition = self.condition(2);
                self.line(&format!("let {name} : flag = {condition}"));
            }
        }
        if self.random.chance(50) {
            self.end();
        }
    }

    pub(super) fn choose(&mut self) {
        let name = self.name("chosen");
        self.line(&format!(
            "choose {name} from heads, for each wedge in order of number"
        ));
        self.line("  source common practice");
        let has_let = self.random.chance(40);
        if has_let {
            self.line("  let own_loft = (its measured_loft, or if unknown its stamped_loft)");
        }
        self.line("  takes 1 from on_hand");
        self.line("  needs kind is wedge");
        let condition = self.condition(0);
        let reason = self.reason();
        self.line(&format!(
            "  needs hand is player_hand when {condition}{reason}"
        ));
        let subject = if has_let { "own_loft" } else { "measured_loft" };
        self.line(&format!("  needs {subject} within 2 deg of wedge_loft"));
        if self.random.chance(50) {
            let reason = self.reason();
            self.line(&format!(
                "  prefers {subject} near wedge_loft, within 1 1/2 deg weight 3{reason}"
            ));
            self.line("  prefers bounce near wedge_bounce, within 2 weight 1/2");
        }
        self.comment("  ");
        self.line("  ties by stamped_loft, smallest first, then mass");
        if self.random.chance(60) {
            self.line("  if none on hand, needs kind is iron says \"An iron does.\"");
            let rung = *self
                .random
                .one_of(&["orders", "leaves open says \"Ask the supplier.\""]);
            self.line(&format!("  if none on hand, {rung}"));
        }
        self.end();
    }

    pub(super) fn limit(&mut self) {
        let name = self.name("limited");
        match self.input_where(Kind::is_quantity) {
            Some(input) if self.random.chance(60) => {
                let most = self.literal(&input.kind);
                let of = &input.name;
                self.line(&format!("limit {name} : {of} at most {most}"));
                self.line("  source \"A rule, 1.2\"");
                self.line(&format!("  says \"{{{of}}} is more than {most}.\""));
            }
            _ => {
                self.line(&format!("limit {name} : number of clubs at most 14"));
                self.line("  source common practice");
                self.line("  in force from 2022-01-01");
            }
        }
        self.end();
    }

    pub(super) fn caution(&mut self) {
        let name = self.name("careful");
        if self.random.chance(40) {
            self.line(&format!(
                "caution {name}, for each iron : the size of club_bend over 1 deg"
            ));
        } else {
            let condition = self.condition(1);
            self.line(&format!("caution {name} : {condition}"));
        }
        let texts = self.texts();
        self.line(&format!("  says {texts}"));
        self.line("  source common practice");
        if self.random.chance(40) {
            self.line("  at setting, cutting");
        }
        if self.random.chance(30) {
            let condition = self.condition(0);
            self.line(&format!("  only when {condition}"));
        }
        self.end();
    }

    pub(super) fn case(&mut self) {
        let name = self.name("case");
        self.line(&format!("case \"{name}\""));
        let first = self.random.below(self.inputs.len());
        for place in first..self.inputs.len().min(first + 3) {
            let input = self.inputs[place].clone();
            let value = self.literal(&input.kind);
            self.line(&format!("  given {} = {value}", input.name));
        }
        self.line("  given turf = unknown");
        self.line("  expect every wedge_bounce = low");
        self.line("  expect shaft_flex needs head_speed");
        self.line("  expect club_number of the first club = 1");
        self.end();
    }

    pub(super) fn group(&mut self) {
        let name = self.name("some");
        self.line(&format!("group {name}"));
        self.line("  is club where kind is one of iron, wedge");
        self.end();
        let decision = self.name("of_some");
        self.line(&format!("decide {decision} : angle, for each {name}"));
        self.line("  source common practice");
        self.line("  gives (club.loft, or if unknown 30 deg) - 1 deg");
        self.end();
    }

    pub(super) fn part(&mut self) {
        let name = self.name("tool");
        self.line(&format!("part {name}"));
        self.line("  has mass : mass, between 1 g and 5000 g");
        self.line("  has worn : flag, may be unknown");
        self.line("  has on_hand : count");
        self.end();
    }
}
