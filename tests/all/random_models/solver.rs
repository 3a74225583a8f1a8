//! The solver: one `z3 -in` that answers as long as it is asked.

use num_bigint::BigInt;
use num_rational::BigRational;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

pub(crate) struct Solver {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

impl Solver {
    pub(crate) fn start() -> Self {
        let mut child = Command::new("z3")
            .arg("-in")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("z3 is installed (.ci/install-outside-tools)");
        let to = child.stdin.take().unwrap();
        let from = BufReader::new(child.stdout.take().unwrap());
        Self { child, to, from }
    }

    /// Forgets everything. The solver slows down with all that it has ever seen, so every model starts anew.
    pub(crate) fn reset(&mut self) {
        self.tell("(reset)\n(set-option :produce-models true)\n");
    }

    /// Commands that print nothing.
    pub(crate) fn tell(&mut self, text: &str) {
        self.to.write_all(text.as_bytes()).unwrap();
    }

    /// What the commands print.
    pub(crate) fn ask(&mut self, text: &str) -> String {
        self.tell(text);
        self.tell("\n(echo \"@end\")\n");
        self.to.flush().unwrap();
        let mut answer = String::new();
        loop {
            let mut line = String::new();
            assert!(self.from.read_line(&mut line).unwrap() > 0, "the solver ended; it had printed {answer}");
            if line.trim() == "@end" {
                assert!(!answer.contains("error"), "the solver says {answer} to {text}");
                return answer;
            }
            answer.push_str(&line);
        }
    }

    /// Whether what was asserted so far can be; the solver may not be undecided.
    pub(crate) fn is_satisfiable(&mut self) -> bool {
        match self.ask("(check-sat)").trim() {
            "sat" => true,
            "unsat" => false,
            other => panic!("the solver says {other:?}"),
        }
    }

    /// The values of expressions after a satisfiable check, as written.
    pub(crate) fn values(&mut self, of: &[String]) -> Vec<Term> {
        let answer = self.ask(&format!("(get-value ({}))", of.join(" ")));
        let Term::List(pairs) = Term::read(&answer) else { panic!("no list of values: {answer}") };
        assert_eq!(pairs.len(), of.len());
        pairs.into_iter().map(|pair| pair.list().pop().unwrap()).collect()
    }
}

impl Drop for Solver {
    fn drop(&mut self) {
        // The end of its input ends it; waiting leaves no process behind.
        let _ = self.to.write_all(b"(exit)\n");
        let _ = self.to.flush();
        let _ = self.child.wait();
    }
}

/// What the solver prints: a word or a list.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Term {
    Word(String),
    List(Vec<Term>),
}

impl Term {
    pub(crate) fn read(text: &str) -> Self {
        let spaced = text.replace('(', " ( ").replace(')', " ) ");
        let mut open = vec![Vec::new()];
        for word in spaced.split_whitespace() {
            match word {
                "(" => open.push(Vec::new()),
                ")" => {
                    let list = open.pop().unwrap();
                    open.last_mut().unwrap().push(Self::List(list));
                }
                word => open.last_mut().unwrap().push(Self::Word(word.into())),
            }
        }
        assert_eq!(open.len(), 1, "unbalanced: {text}");
        open.pop().unwrap().pop().expect("something is printed")
    }

    pub(crate) fn list(self) -> Vec<Self> {
        match self {
            Self::List(list) => list,
            Self::Word(word) => panic!("{word} is no list"),
        }
    }

    pub(crate) fn is_true(&self) -> bool {
        match self {
            Self::Word(word) if word == "true" => true,
            Self::Word(word) if word == "false" => false,
            other => panic!("{other:?} is neither true nor false"),
        }
    }

    /// The number that a term of constants is. `epsilon`, by which an end of an open range is missed, counts as 0.
    pub(crate) fn number(&self) -> BigRational {
        match self {
            Self::Word(word) if word == "epsilon" => BigRational::from_integer(0.into()),
            Self::Word(word) => {
                let (whole, part) = word.split_once('.').unwrap_or((word, ""));
                let ten = BigInt::from(10).pow(part.len() as u32);
                BigRational::new(format!("{whole}{part}").parse().expect(word), ten)
            }
            Self::List(list) => {
                let Some((Self::Word(operator), of)) = list.split_first() else { panic!("{list:?}") };
                let mut of = of.iter().map(Self::number);
                let first = of.next().unwrap();
                let Some(second) = of.next() else {
                    assert_eq!(operator, "-");
                    return -first;
                };
                assert!(of.next().is_none());
                match operator.as_str() {
                    "+" => first + second,
                    "-" => first - second,
                    "*" => first * second,
                    "/" => first / second,
                    "to_real" => first,
                    other => panic!("operator {other}"),
                }
            }
        }
    }
}
