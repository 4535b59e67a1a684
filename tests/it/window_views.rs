//! Journeys through AP and pedicle views, pairs, carried marks and the case's settings.
