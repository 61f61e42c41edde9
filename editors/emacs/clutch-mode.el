;;; clutch-mode.el --- Clutch actuation specs -*- lexical-binding: t; -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "29.1"))
;; Keywords: languages
;; SPDX-License-Identifier: MIT

;;; Commentary:

;; A mode for `.clutch' specs: highlighting by their shape, and the language server `bitepoint'
;; by Eglot (M-x eglot, or `eglot-ensure' in `clutch-mode-hook').

;;; Code:

(require 'project)

(defgroup clutch nil
  "Clutch actuation specs."
  :group 'languages)

(defcustom clutch-program '("bitepoint" "serve")
  "The language server and its arguments."
  :type '(repeat string))

(defcustom clutch-indent 4
  "Columns that a body stands in from its head."
  :type 'natnum
  :safe #'natnump)

(defvar clutch-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?_ "w" table)
    (dolist (mark (append "\\=+-*/<>%±·×" nil))
      (modify-syntax-entry mark "." table))
    table))

(defconst clutch--word "[[:alpha:]_][[:alnum:]_]*")

(defconst clutch--start "\\(?:^\\|[{},]\\)[ \t]*")

(defun clutch--rule (&rest parts)
  "The regular expression that PARTS make, where `w' stands for a word."
  (mapconcat (lambda (part) (if (eq part 'w) clutch--word part)) parts ""))

;; Which blocks, fields, units and choices exist is known to the language server; the shape is
;; enough for colours, and no list of names here can go stale.
(defconst clutch-font-lock-keywords
  `((,(clutch--rule clutch--start "\\(part\\)\\_>[ \t]*\\(" 'w "\\)?[ \t]*\\(" 'w "\\)?")
     (1 font-lock-keyword-face) (2 font-lock-type-face nil t)
     (3 font-lock-function-name-face nil t))
    (,(clutch--rule clutch--start "\\(system\\)\\_>[ \t]*\\(" 'w "\\)?")
     (1 font-lock-keyword-face) (2 font-lock-function-name-face nil t))
    (,(clutch--rule clutch--start "\\(allow\\)\\_>[ \t]*\\(" 'w "\\(?:-" 'w "\\)*\\)?")
     (1 font-lock-keyword-face) (2 font-lock-constant-face nil t))
    (,(clutch--rule clutch--start "\\(choose\\|let\\|require\\|use\\)\\_>")
     (1 font-lock-keyword-face))
    ("\\_<\\(curve\\|from\\|to\\)\\_>" (1 font-lock-keyword-face))
    (,(clutch--rule "\\(" 'w "\\)[ \t]*=[ \t]*\\(" 'w "\\)[ \t]*\\(?:$\\|[#,}]\\|" 'w "[ \t]*=\\)")
     (2 font-lock-constant-face))
    (,(clutch--rule "\\(" 'w "\\)[ \t]*=") (1 font-lock-variable-name-face))
    (,(clutch--rule "\\(" 'w "\\)\\.\\(" 'w "\\)")
     (1 font-lock-type-face) (2 font-lock-variable-name-face))
    (,(clutch--rule "\\(" 'w "\\)[ \t]*(") (1 'font-lock-function-call-face))
    (,(clutch--rule "\\(" 'w "\\)\\(?:[ \t]+\\(" 'w "\\)\\)?[ \t]*{")
     (1 font-lock-type-face) (2 font-lock-constant-face nil t))
    (,(clutch--rule clutch--start "\\(" 'w "\\)\\(?:[ \t]+\\(" 'w "\\)\\)?[ \t]*\\(?:$\\|[#}]\\)")
     (1 font-lock-type-face) (2 font-lock-constant-face nil t))
    ("\\_<[0-9]+\\(?:[.,/][0-9]+\\)?\\(?:[eE][-+]?[0-9]+\\)?" . 'font-lock-number-face))
  "What `clutch-mode' highlights.")

(defun clutch-indent-line ()
  "Indent a line by the braces around it."
  (interactive)
  (let* ((deep (save-excursion
                 (back-to-indentation)
                 (- (car (syntax-ppss)) (if (looking-at-p "[})]") 1 0))))
         (within (<= (current-column) (current-indentation))))
    (if within
        (indent-line-to (* clutch-indent (max 0 deep)))
      (save-excursion (indent-line-to (* clutch-indent (max 0 deep)))))))

(defun clutch-project (directory)
  "The project of specs that DIRECTORY lies in.
The server reads nothing outside of it."
  (let ((root (locate-dominating-file directory "bitepoint.toml")))
    (and root (cons 'transient root))))

;;;###autoload
(define-derived-mode clutch-mode prog-mode "Clutch"
  "Major mode for clutch actuation specs."
  (setq-local comment-start "# ")
  (setq-local comment-end "")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local indent-tabs-mode nil)
  (setq-local indent-line-function #'clutch-indent-line)
  (setq-local electric-indent-chars (append "}" electric-indent-chars))
  (add-hook 'project-find-functions #'clutch-project 90 t)
  (setq-local font-lock-defaults '(clutch-font-lock-keywords)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.clutch\\'" . clutch-mode))

(defvar eglot-server-programs)

;;;###autoload
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs (cons 'clutch-mode (lambda (&rest _) clutch-program))))

(provide 'clutch-mode)
;;; clutch-mode.el ends here
