//! Do we give the numbers that are in print?

#![allow(missing_docs)]

mod published {
    mod counselling;
    mod mendel;
    mod progeny_tests;
    mod support;
    mod third_generation;
}
