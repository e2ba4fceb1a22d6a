from django.urls import path

from workshop.invoices import public_views, views

app_name = "invoices"
urlpatterns = [
    path("invoices/", views.list, name="list"),
    path("invoices/owed/", views.owed, name="owed"),
    path("invoices/accounts/<uuid:uid>/", views.account, name="account"),
    path("invoices/accounts/<uuid:uid>/take/", views.take, name="take"),
    path("invoices/accounts/<uuid:uid>/use-credit/", views.use_credit, name="use_credit"),
    path("invoices/accounts/<uuid:uid>/give-back/", views.give_back, name="give_back"),
    path("invoices/accounts/<uuid:uid>/remind/", views.remind, name="remind"),
    path("invoices/accounts/<uuid:uid>.pdf", views.statement, name="statement"),
    path("invoices/new/<int:pk>/", views.invoice_new, name="invoice_new"),
    path("invoices/<uuid:uid>/", views.invoice, name="invoice"),
    path("invoices/<uuid:uid>.pdf", views.paper, name="paper"),
    path("invoices/<uuid:uid>/pay/", views.pay, name="pay"),
    path("invoices/<uuid:uid>/credit/", views.credit, name="credit"),
    path("invoices/<uuid:uid>/credit/lines/", views.credit_lines, name="credit_lines"),
    path("invoices/<uuid:uid>/send/", views.send, name="send"),
    path("i/<str:token>/", public_views.by_link, name="by_link"),
    path("i/<str:token>/paper.pdf", public_views.paper_by_link, name="paper_by_link"),
]
