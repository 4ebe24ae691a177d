//! Small books at random.

use crate::workshop::{
    add, captured, export_to, open, picture, restore_to, room, run, sample, tree, wait,
};
use meltrange_labbook::{Book, Draft, Entry, Person, Role, SampleId, verify};
use proptest::prelude::*;

#[derive(Debug, Clone)]
enum Step {
    Person(String),
    Sample(String),
    Relabel(usize, String),
    Recording { sample: usize, frames: u32 },
}

fn step() -> impl Strategy<Value = Step> {
    // Anything that can be typed: quotes, commas, umlauts, signs outside the basic plane.
    let text = "[ -~äßé𝜟]{1,12}";
    prop_oneof![
        text.prop_map(Step::Person),
        text.prop_map(Step::Sample),
        (any::<usize>(), text).prop_map(|(at, label)| Step::Relabel(at, label)),
        (any::<usize>(), 0_u32..6).prop_map(|(sample, frames)| Step::Recording { sample, frames }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn any_book_comes_back(steps in proptest::collection::vec(step(), 0..10)) {
        let room = room();
        let at = |name: &str| room.path().join(name);
        wait(async {
            let first = Person { name: "R. Amsel".into(), role: Role::Supervisor };
            let (book, who) = Book::create(&at("book"), "At random", first).await.expect("room");
            let mut samples: Vec<SampleId> = Vec::new();
            for step in steps {
                match step {
                    // What the book does not take is not in it.
                    Step::Person(name) => {
                        let person = Person { name, role: Role::Student };
                        let _ = book.append(who, vec![Draft::new(person)]).await;
                    }
                    Step::Sample(label) => {
                        let draft = Draft::new(sample(&label, "urea"));
                        if let Ok(added) = book.append(who, vec![draft]).await {
                            samples.push(added[0].subject.into());
                        }
                    }
                    Step::Relabel(at, label) if !samples.is_empty() => {
                        let id = samples[at % samples.len()];
                        let latest = book.store().latest(id.into()).await.expect("there");
                        let Entry::Sample(mut said) = latest.entry else { panic!("a sample") };
                        said.label = label;
                        let _ = book.append(who, vec![Draft::revision(id, latest.id, said)]).await;
                    }
                    Step::Recording { sample, frames } if !samples.is_empty() => {
                        let of = samples[sample % samples.len()];
                        captured(&book, who, run(&[of]), frames, picture).await;
                    }
                    _ => {
                        add(&book, who, run(&[])).await;
                    }
                }
            }
            let head = book.store().head().await.expect("readable");
            export_to(&book, &at("one")).await;
            export_to(&book, &at("one.zip")).await;
            book.close().await;
            let restored = restore_to(&at("one.zip"), &at("again")).await.expect("sound");
            assert_eq!(restored.head, head);
            let verdict = verify(&at("again"), head.hash, &mut |_| ()).await.expect("a book");
            assert!(verdict.sound(), "{:?}", verdict.findings);
            let again = open(&at("again")).await;
            export_to(&again, &at("two")).await;
            again.close().await;
            assert_eq!(tree(&at("two")), tree(&at("one")));
        });
    }
}
