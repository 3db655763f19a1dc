//! Every word: its example reads, its page is whole.

use crate::script::{read_alone, shown};
use foamwright::script::{word_list, word_page};

#[test]
fn every_example_can_be_read() {
    for word in word_list() {
        if let Err(unread) = read_alone(word.example) {
            panic!(
                "the example of {}:\n{}\n{}",
                word.title(),
                word.example,
                shown(&unread)
            );
        }
        assert!(
            word.example.contains(word.name),
            "the example of {} doesn't use it",
            word.title()
        );
        assert!(word_page(&word.title()).is_some());
    }
}
